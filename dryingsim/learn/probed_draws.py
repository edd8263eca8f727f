"""The slice that holds a thermometer's probe, drawn many times: what is not known of it, and what its probe would show.

A draw is a row of standard normal numbers, one for each of `Unknowns.keys`. Slices of all draws dry in the air that was
logged, through the engine of many slices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.ensemble import Numbers, Request, run_ensemble
from dryingsim.engine.segments import Segment
from dryingsim.engine.slices import Differences, different_slices
from dryingsim.evidence import Evidence
from dryingsim.learn.logged_air import LoggedAir
from dryingsim.typing import Array

KEYS = (
    "diffusivity",
    "half_moisture",
    "film",
    "thickness",
    "marinade",
    "air",
    "humidity",
    "exposed",
    "reads",
)
NODES = 16  # across a slice: its temperatures are within 0.1 K of those with 24
_SPEED: Annotated[
    float, Evidence("-", "estimate", "film coefficient by an air speed that is known to a third")
] = 0.15
_AIR_K: Annotated[
    float, Evidence("K", "estimate", "air thermometer, its place beside the slice, walls that are cooler")
] = 1.5
_PROBE_K: Annotated[float, Evidence("K", "estimate", "a probe that was checked, one standard deviation")] = (
    0.4
)
_EXPOSED: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "heat that a probe's stem brings along: it shows the meat plus so much of the difference to the air; the median",
    ),
] = 0.04
_EXPOSED_SIZE: Annotated[float, Evidence("-", "estimate", "its logarithm, one standard deviation")] = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknowns:
    """How far each of `KEYS` may be off: standard deviations of logarithms, of kelvins; of `humidity` as the air says.

    Attributes
    ----------
    size : ndarray, shape (p,)
    """

    size: Array

    @classmethod
    def of(cls, uncertainties: Mapping[str, Uncertainty]) -> "Unknowns":
        """Return those of a slice of a batch.

        Parameters
        ----------
        uncertainties : mapping of Uncertainty
            As `batch.uncertainties.read_uncertainties` gives them.
        """
        size = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
        drying = ("diffusivity", "diffusivity_batches", "diffusivity_slices")
        sizes = {
            "diffusivity": float(np.linalg.norm([size[key] for key in drying])),
            "half_moisture": size["half_moisture"],
            "film": float(np.linalg.norm([size["film"], size["film_places"], _SPEED])),
            "thickness": float(np.hypot(size["thickness_between"], size["thickness_within"])),
            "marinade": size["marinade"],
            "air": _AIR_K,
            "humidity": 1.0,
            "exposed": _EXPOSED_SIZE,
            "reads": _PROBE_K,
        }
        return cls(size=np.array([sizes[key] for key in KEYS]))

    def values(self, z: Array) -> dict[str, Array]:
        """Return factors and offsets of draws, by key.

        Parameters
        ----------
        z : ndarray, shape (s, p)
        """
        off = dict(zip(KEYS, (z * self.size).T, strict=True))
        multiplied = ("diffusivity", "half_moisture", "film", "thickness", "marinade")
        factors = {key: np.exp(off[key]) for key in multiplied}
        factors["diffusivity"] *= factors["half_moisture"] ** between_studies().along_half_moisture
        return {**off, **factors, "exposed": _EXPOSED * np.exp(off["exposed"])}


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """The slice that is drawn.

    Attributes
    ----------
    batch : Batch
    kind : int
        Its thickness class.
    air : LoggedAir
    start_K : float
        Its temperature when it was laid on the tray [K].
    """

    batch: Batch
    kind: int
    air: LoggedAir
    start_K: float


def dried(
    piece: Slice,
    values: Mapping[str, Array],
    times_s: Array,
    kind: Array | None = None,
    apart: tuple[Array, Array] | None = None,
) -> Numbers:
    """Dry slices of all draws in the logged air.

    Parameters
    ----------
    piece : Slice
    kind : ndarray of int, shape (s,), optional
        Thickness class of each; that of the piece if left out.
    apart : tuple of ndarray, shape (t, s), optional
        How much warmer [K] and moister [Pa] the air of each is than that of the piece, at the times of the logged air.
    values : mapping of ndarray, shape (s,)
        As `Unknowns.values` gives them.
    times_s : ndarray, shape (t,)
        When states are noted, from 0 on [s]; beyond the log its last air goes on.

    Returns
    -------
    dict of ndarray
        As of `engine.ensemble.work`, with `places_K` and `places_activity`.
    """
    count = values["film"].size
    differences = Differences(
        kind=np.full(count, piece.kind) if kind is None else kind,
        thickness=values["thickness"],
        diffusivity=values["diffusivity"],
        half_moisture=values["half_moisture"],
        film=values["film"],
        marinade=values["marinade"],
        water=np.zeros(count),
    )
    slices, _ = different_slices(piece.batch, differences, np.arange(count), NODES)
    air = piece.air.columns(piece.batch, values["air"], values["humidity"], apart)
    segment = Segment(0.0, float(times_s[-1]), air, -1, False, dries=True, lethal=True)
    request = Request(temperature_K=piece.start_K, times_s=times_s, form=piece.batch.meat.form, places=True)
    return run_ensemble(slices, (segment,), request)


def shown(piece: Slice, values: Mapping[str, Array], numbers: Numbers, times_s: Array) -> Array:
    """Return what the probes of all draws would show [K], shape (t, s).

    Parameters
    ----------
    piece : Slice
    values : mapping of ndarray, shape (s,)
    numbers : dict of ndarray
        As `dried` gives them.
    times_s : ndarray, shape (t,)
        [s]
    """
    meat = numbers["places_K"][1]
    logged: Array = np.interp(times_s, piece.air.time_s, piece.air.temperature_K)
    air = logged[:, None] + values["air"]
    return meat + values["exposed"] * (air - meat) + values["reads"]
