r"""At the faces: convection, radiation, evaporation or condensation, all in one place.

Signs: vapour positive *out of* the slab, heat positive *into* it. The vapour that leaves takes its full enthalpy
along, so the latent heat is paid at the face. The net heat of sorption is not paid: water in meat has the enthalpy of
liquid water everywhere. By its state at the *face* it would be paid for all the water of the wet middle, which the
meat gives back inside; what a slice needs in all is 0.1-0.6 % of the heat it receives.

.. math:: N = \beta h \ln\frac{1 - y_{air}}{1 - y_s},\quad y_s = a_w(X_s, T_s)\,p_{sat}(T_s)/P
.. math:: q = h\,\frac{\varphi}{e^{\varphi} - 1}(T_{air} - T_s) + \varepsilon\sigma(T_{wall}^4 - T_s^4),
          \quad \varphi = N c_{p,v}/h

(film theory with the Stefan and Ackermann corrections; condensation is the same formula with the other sign). The
film coefficient h joins forced and natural convection by the sum of cubes; the natural part follows the present
difference of *virtual* temperatures, so that moist light air at a wet face counts.
"""

from dataclasses import dataclass
from functools import cached_property
from typing import Annotated

import numpy as np

from dryingsim.constants import MASS_RATIO, STEFAN_BOLTZMANN
from dryingsim.evidence import Evidence
from dryingsim.model.slab import Slabs
from dryingsim.properties import films
from dryingsim.properties.water import (
    VAPOUR_SPECIFIC_HEAT,
    log_saturation_pressure,
    log_saturation_pressure_slope,
    vapour_enthalpy,
)
from dryingsim.typing import Array

LOWER, UPPER = 0, 1
VAPOUR, CARRIED, CONVECTED, RADIATED = range(4)  # what passes a face
_UPWARD = np.array([[-1.0], [1.0]])  # outward normal of the lower and the upper face
_SMOOTH_K: Annotated[
    float,
    Evidence(
        "K",
        "numerical",
        "the change between stable and unstable air, and |dT|^(1/4) at zero, are rounded off over it",
    ),
] = 1.0
_STEEPEST: Annotated[
    float,
    Evidence("-", "numerical", "rise of -ln(1 - y) from which air takes up no more: of y from 0 to 0.95"),
] = 3.0
_LIGHTNESS = 1.0 - MASS_RATIO
_MIDDLE = 0.5 * (films.HORIZONTAL_UNSTABLE + films.HORIZONTAL_STABLE)
_HALF_RANGE = 0.5 * (films.HORIZONTAL_UNSTABLE - films.HORIZONTAL_STABLE)


@dataclass(frozen=True, slots=True)
class Film:
    """Film over the two faces of each slab: constants of a stage.

    Attributes
    ----------
    forced : ndarray, shape (2, m)
        Film coefficient of the moving air [W/(m2 K)].
    natural : ndarray, shape (m,)
        h = c a |dT_v|^(1/4) of still air: the factor a [W/(m2 K^(5/4))].
    mass_factor : ndarray, shape (m,)
        Vapour film per heat film, beta [kg K/J].
    carrying : tuple of ndarray, shape (m,), or None
        What the air that passes can carry, per exchanging area: heat capacity rate, and that of vapour in the same
        measure (times Le^(2/3)) [W/(m2 K)]. None: more than the slices can change.
    """

    forced: np.ndarray
    natural: np.ndarray
    mass_factor: np.ndarray
    carrying: tuple[np.ndarray, np.ndarray] | None = None


@dataclass(frozen=True)
class AirAtSlabs:
    """The air each slab feels at one moment. Arrays of shape (m,); `wall_K` and `view` (2, m).

    Attributes
    ----------
    temperature_K : ndarray
        [K].
    vapour_fraction : ndarray
        Mole fraction of vapour [-].
    pressure_Pa : float
        Total [Pa].
    film : Film
        Over the faces.
    """

    temperature_K: np.ndarray
    vapour_fraction: np.ndarray
    wall_K: np.ndarray  # what the lower and the upper face look at
    view: np.ndarray  # how much of their view that is; the rest is slices as warm as themselves
    pressure_Pa: float
    film: Film

    # What follows from the air alone: worked out once where the air is given, as the faces ask at every stage.
    @cached_property
    def dryness(self) -> np.ndarray:
        """Potential of the vapour flux, -ln(1 - y) [-]."""
        return films.log_dry(self.vapour_fraction)

    @cached_property
    def virtual_K(self) -> np.ndarray:
        """Virtual temperature [K]."""
        return virtual(self.temperature_K, self.vapour_fraction)

    @cached_property
    def mean_wall_fourth(self) -> np.ndarray:
        """Fourth power of the mean of both walls' temperature, which the edges see [K4]."""
        return fourth_power(0.5 * (self.wall_K[0] + self.wall_K[1]))

    @cached_property
    def mean_view(self) -> np.ndarray:
        """Mean of what both faces see of the walls, which the edges see [-]."""
        return 0.5 * (self.view[0] + self.view[1])

    @cached_property
    def wall_fourth(self) -> np.ndarray:
        """Fourth power of the walls' temperature [K4]."""
        return fourth_power(self.wall_K)


def vapour_over(
    slabs: Slabs, pressure_Pa: float | np.ndarray, moisture: np.ndarray, temperature: np.ndarray
) -> np.ndarray:
    """Return the mole fraction of vapour in equilibrium with meat [-].

    Parameters
    ----------
    slabs : Slabs
    pressure_Pa : float or ndarray, shape (m,)
        Of the air [Pa].
    moisture, temperature : ndarray, shape (k, m)
        [kg/kg], [K].

    Returns
    -------
    ndarray, shape (k, m)
    """
    log_activity = slabs.sorption.log_activity(moisture, temperature, slabs.recipe)
    fraction: np.ndarray = np.exp(log_activity + log_saturation_pressure(temperature)) * (1.0 / pressure_Pa)
    return fraction


class FaceExchange:
    """What passes the faces of every slab for given face states.

    Parameters
    ----------
    slabs : Slabs
    air : AirAtSlabs
    moisture, temperature : ndarray, shape (2, m)
        Of the lower and upper face nodes [kg/kg], [K].
    over : ndarray, shape (2, m), optional
        `vapour_over` them, where it is known.

    Attributes
    ----------
    boundary_flux : ndarray, shape (4, 2, m)
        By `VAPOUR`, `CARRIED`, `CONVECTED`, `RADIATED`: vapour out of the slab [kg/(m2 s)], the enthalpy it carries
        [W/m2], heat into the slab by convection and by radiation [W/m2].
    film, vapour_film : ndarray, shape (2, m)
        Film coefficient [W/(m2 K)], for heat and, in the same measure, for vapour.
    """

    def __init__(
        self,
        slabs: Slabs,
        air: AirAtSlabs,
        moisture: np.ndarray,
        temperature: np.ndarray,
        over: np.ndarray | None = None,
    ) -> None:
        self._slabs, self._air, self._x, self._t = slabs, air, moisture, temperature
        self._y = vapour_over(slabs, air.pressure_Pa, moisture, temperature) if over is None else over
        self._enthalpy = vapour_enthalpy(temperature)
        film = film_coefficient(air, temperature, self._y, slabs.vapour_open)
        self.film, self.vapour_film = film, film
        drier = films.log_dry(self._y) - air.dryness
        if air.film.carrying is not None:
            heat, vapour_rate = air.film.carrying
            self.film = exchanged(film, heat)
            self.vapour_film = exchanged(film, vapour_rate * taken_up(drier, air.dryness))
        self._mass = air.film.mass_factor * self.vapour_film * slabs.vapour_open
        vapour = self._mass * drier  # films.stefan_flux
        self._convective = self.film * slabs.heat_open
        self._convective *= films.ackermann(vapour * VAPOUR_SPECIFIC_HEAT / self.film)
        self._radiation = STEFAN_BOLTZMANN * slabs.emissivity * air.view * slabs.heat_open
        self.boundary_flux = np.empty((4, *vapour.shape))
        self.boundary_flux[VAPOUR] = vapour
        self.boundary_flux[CARRIED] = vapour * self._enthalpy
        self.boundary_flux[CONVECTED] = self._convective * (air.temperature_K - temperature)
        self.boundary_flux[RADIATED] = self._radiation * (air.wall_fourth - fourth_power(temperature))

    def slopes(self) -> np.ndarray:
        """Derivatives of `boundary_flux` by the face's own moisture and temperature.

        Returns
        -------
        ndarray, shape (4, 2, 2, m)
            What passes, by [X, T], at [lower, upper]. The film coefficient and the corrections on it are held fixed.
        """
        by_x, by_t = self._slabs.sorption.slopes(self._x, self._t, self._slabs.recipe)
        out = np.zeros((4, 2, *self._t.shape))
        steep = self._mass * films.log_dry_slope(self._y) * self._y
        out[VAPOUR, 0] = steep * by_x
        out[VAPOUR, 1] = steep * (by_t + log_saturation_pressure_slope(self._t))
        out[CARRIED] = out[VAPOUR] * self._enthalpy
        out[CARRIED, 1] += self.boundary_flux[VAPOUR] * VAPOUR_SPECIFIC_HEAT
        out[CONVECTED, 1] = -self._convective
        out[RADIATED, 1] = -4.0 * self._radiation * (self._t * self._t * self._t)
        return out

    def input_slopes(self) -> np.ndarray:
        """Derivatives of `boundary_flux` by what the air side sets.

        Returns
        -------
        ndarray, shape (4, 4, 2, m)
            What passes, by [air temperature, vapour fraction, lower wall, upper wall], at [lower, upper].
        """
        out = np.zeros((4, 4, *self._t.shape))
        out[VAPOUR, 1] = -self._mass * films.log_dry_slope(self._air.vapour_fraction)
        out[CARRIED, 1] = out[VAPOUR, 1] * self._enthalpy
        out[CONVECTED, 0] = self._convective
        for face in (LOWER, UPPER):
            out[RADIATED, 2 + face, face] = 4.0 * self._radiation[face] * self._air.wall_K[face] ** 3
        return out


def exchanged(film: np.ndarray, carrying: np.ndarray) -> np.ndarray:
    """Mean film over the passage, referred to the air at its beginning [W/(m2 K)].

    C (1 - exp(-h/C)) with C the capacity rate of the air per area: the exact exchanger for a surface of one state. It
    tends to h when the air is plentiful and to C, which brings the air to the surface's state and never beyond, when
    it is scarce.

    Parameters
    ----------
    film : ndarray, shape (2, m)
        Film coefficient at one place [W/(m2 K)].
    carrying : ndarray, shape (m,) or (2, m)
        Capacity rate of the air per exchanging area [W/(m2 K)].

    Returns
    -------
    ndarray, shape (2, m)
        [W/(m2 K)].

    Examples
    --------
    >>> exchanged(np.array([20.0, 20.0]), np.array([1e6, 5.0])).round(2)  # plentiful air, scarce air
    array([20.  ,  4.91])
    """
    return -carrying * np.expm1(-film / carrying)


def taken_up(rise: np.ndarray, dryness: np.ndarray) -> np.ndarray:
    """Vapour that dry air takes up over the rise of the potential -ln(1 - y), as a multiple of that in dry air [-].

    The humidity ratio is MASS_RATIO (e^B - 1) of the potential B: its mean slope from the air to the face. With it the
    exchanger is exact where air is plentiful and where it is scarce: then it leaves as moist as the face can make it.

    Parameters
    ----------
    rise : ndarray, shape (2, m)
        Of the potential from the air to the face [-].
    dryness : ndarray, shape (m,)
        The air's potential [-].

    Returns
    -------
    ndarray, shape (2, m)

    Examples
    --------
    >>> face, air = 0.5, 0.05  # vapour fractions
    >>> rise = np.log((1.0 - air) / (1.0 - face))
    >>> round(float(taken_up(rise, -np.log(1.0 - air)) * rise), 6)  # y/(1 - y) of the face, less that of the air
    0.947368
    """
    steep = np.clip(rise, -_STEEPEST, _STEEPEST)  # a solver's trial state may be anything
    steep = np.where(np.abs(steep) < 1e-6, 1e-6, steep)
    return np.exp(dryness) * np.expm1(steep) / steep


def fourth_power(t: np.ndarray) -> np.ndarray:
    """t^4 by two multiplications; numpy's power is twenty times slower."""
    square = t * t
    return square * square


def virtual(temperature: Array, vapour_fraction: Array) -> Array:
    """Temperature [K] at which dry air would be as light as the moist air.

    Parameters
    ----------
    temperature : float or ndarray
        [K].
    vapour_fraction : float or ndarray
        p_v/p [-].

    Returns
    -------
    float or ndarray
        [K].

    Examples
    --------
    >>> round(float(virtual(333.15, 0.1)), 2)
    346.24
    """
    return temperature / (1.0 - _LIGHTNESS * vapour_fraction)


def film_coefficient(
    air: AirAtSlabs, temperature: np.ndarray, vapour_fraction: np.ndarray, vapour_open: Array = 1.0
) -> np.ndarray:
    """Heat film coefficient of the two faces [W/(m2 K)], shape (2, m).

    Parameters
    ----------
    air : AirAtSlabs
    temperature, vapour_fraction, vapour_open : ndarray, shape (2, m)
        Of the faces: [K], mole fraction the face would hold in equilibrium, share of it that is open to vapour. The
        air at a sealed face is no moister than the rest.

    Returns
    -------
    ndarray, shape (2, m)
        [W/(m2 K)].
    """
    at_face = air.vapour_fraction + vapour_open * (vapour_fraction - air.vapour_fraction)
    lighter = air.virtual_K - virtual(temperature, at_face)
    size = np.sqrt(lighter * lighter + _SMOOTH_K**2)
    # A face colder than the air is stable when it looks up, unstable when it looks down.
    coefficient = _MIDDLE - _HALF_RANGE * (lighter * _UPWARD) / size
    return films.combine_mixed(air.film.forced, coefficient * air.film.natural * np.sqrt(np.sqrt(size)))
