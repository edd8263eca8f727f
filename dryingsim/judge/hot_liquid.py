"""What slabs went through in hot liquid or steam before they were dried, and where bacteria sit meanwhile."""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.schema import Form
from dryingsim.judge.heat_model import heat_resistance
from dryingsim.judge.heat_resistance import HeatBefore
from dryingsim.kernels.grid import clustered_nodes, weights_at
from dryingsim.typing import Array


def where_they_sit(places_K: Array, thickness_m: Array, form: Form) -> Array:
    """Return the temperature where bacteria sit in slices that are heated from both sides, at the coldest such place [K].

    Parameters
    ----------
    places_K : ndarray, shape (3, t, slab)
        At the lower face, in the middle and at the upper face [K].
    thickness_m : ndarray, shape (slab,)
        [m]
    form : str
        In intact muscle they sit some way below the faces, else at every depth.

    Notes
    -----
    Between middle and faces a parabola is taken. While the middle lags it lies below the true course, in which heat
    enters from the faces, so this errs to the cold side.

    Examples
    --------
    >>> places = np.array([[[363.0]], [[313.0]], [[363.0]]])
    >>> where_they_sit(places, np.array([5e-3]), "sliced").round(1).tolist()
    [[348.4]]
    >>> where_they_sit(places, np.array([5e-3]), "minced").tolist()
    [[313.0]]
    """
    lower, middle, upper = places_K
    if form != "sliced":
        return np.asarray(np.minimum(np.minimum(lower, upper), middle))
    way = np.maximum(1.0 - 2.0 * heat_resistance().depth_m / thickness_m, 0.0)
    return np.asarray(middle + (np.minimum(lower, upper) - middle) * way**2)


@dataclass(frozen=True, kw_only=True, eq=False)
class InLiquid:
    """What slabs went through in hot liquid before they were dried.

    Attributes
    ----------
    time_s : ndarray, shape (t,)
        Since they went in [s].
    temperature_K : ndarray, shape (t, node, slab)
    water_activity, drier_water_activity : ndarray, shape (node, slab)
        As the slabs went in, and less its error [-].
    thickness_m : ndarray, shape (slab,)
    """

    time_s: Array
    temperature_K: Array
    water_activity: Array
    drier_water_activity: Array
    thickness_m: Array

    def heat(self, form: Form, exposed: Array) -> HeatBefore:
        """Return what it does where bacteria sit, (place, slab).

        Parameters
        ----------
        form : str
        exposed : ndarray of int
            The exposed nodes.
        """
        t = self.exposed_K(form, exposed)
        return HeatBefore.of(self.time_s, t, np.broadcast_to(self.drier_water_activity[exposed], t.shape))

    def exposed_K(self, form: Form, exposed: Array) -> Array:
        """Return the temperature where bacteria sit, (t, place, slab): in intact muscle some way below both faces [K].

        Heating takes seconds and faces are as hot as the liquid at once, but bacteria sit in folds and films of water.

        Parameters
        ----------
        form : str
        exposed : ndarray of int
            The exposed nodes.
        """
        return self.temperature_K[:, exposed] if form != "sliced" else self._below_faces()

    def _below_faces(self) -> Array:
        nodes = clustered_nodes(self.temperature_K.shape[1])
        share = np.minimum(heat_resistance().depth_m / self.thickness_m, 0.5)
        weights = np.stack(
            [weights_at(nodes, place) for place in (share, 1.0 - share)]
        )  # (place, node, slab)
        return np.einsum("tns,pns->tps", self.temperature_K, weights)

    def before(
        self, time_s: Array, temperature_K: Array, water_activity: Array
    ) -> tuple[Array, Array, Array]:
        """Return a history (t,), (t, node, slab) with this before it.

        Parameters
        ----------
        time_s, temperature_K, water_activity : ndarray
            [s], [K], [-].
        """
        wet = np.broadcast_to(self.water_activity, self.temperature_K.shape)
        return (
            np.concatenate([self.time_s, self.time_s[-1] + time_s]),
            np.concatenate([self.temperature_K, temperature_K]),
            np.concatenate([wet, water_activity]),
        )
