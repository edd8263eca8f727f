"""Given air: temperature, humidity and speed at the slices as the schedule states them."""

from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.components import OfFaces
from dryingsim.batch.schema import Air, Room
from dryingsim.model.faces import AirAtSlabs, Film
from dryingsim.properties import air_transport, films, forced_convection, moist_air
from dryingsim.properties.water import saturation_pressure


def vapour_pressure(air: Air, room: Room) -> float:
    """Vapour pressure [Pa] of the air a stage describes.

    Parameters
    ----------
    air : Air
        As a stage describes it.
    room : Room
        Where the air comes from.

    Returns
    -------
    float
        Vapour pressure [Pa].

    Raises
    ------
    KeyError
        Never for a `Humidity` built by its own types.

    Examples
    --------
    >>> from dryingsim.batch.schema import Air, Humidity, Room
    >>> room = Room(temperature_K=293.15, relative_humidity=0.5)
    >>> air = Air(temperature_K=341.15, humidity=Humidity(kind="room"), speed_m_s=1.0)
    >>> round(vapour_pressure(air, room))
    1169
    """
    kind, value, t = air.humidity.kind, air.humidity.value, air.temperature_K
    return float(
        {
            "room": lambda: room.relative_humidity * saturation_pressure(room.temperature_K),
            "relative": lambda: value * saturation_pressure(t),
            "wet_bulb": lambda: moist_air.vapour_pressure_from_wet_bulb(t, value, room.pressure_Pa),
            "dew_point": lambda: saturation_pressure(value),
        }[kind]()
    )


def slice_film(
    temperature: np.ndarray,
    vapour_pressure: np.ndarray,
    pressure: float,
    speed: np.ndarray,
    length: np.ndarray,
    width: np.ndarray,
) -> Film:
    """Film over slices in air that moves along them, both faces alike.

    Parameters
    ----------
    temperature, vapour_pressure, speed : ndarray, shape (m,)
        Of the air [K], [Pa], [m/s].
    pressure : float
        Total pressure [Pa].
    length, width : ndarray, shape (m,)
        Of a slice along and across the flow [m].

    Returns
    -------
    Film
        Of both faces.

    Notes
    -----
    The film's properties are taken half-way between the air and its wet bulb, where a wet face starts, and held for
    the stage: on the way to the air's temperature h of a laminar plate changes by 1 %.

    Examples
    --------
    >>> ones = np.ones(1)
    >>> film = slice_film(341.15 * ones, 1170.0 * ones, 101325.0, ones, 0.1 * ones, 0.05 * ones)
    >>> round(float(film.forced[0, 0]), 1)  # W/(m2 K)
    12.3
    """
    wet = moist_air.wet_bulb(temperature, vapour_pressure, pressure)
    mean_t = 0.5 * (temperature + wet)
    mean_p = 0.5 * (vapour_pressure + saturation_pressure(wet))
    density = moist_air.density(mean_t, mean_p, pressure)
    reynolds = forced_convection.reynolds(
        speed, length, density, air_transport.viscosity(mean_t, mean_p, pressure)
    )
    prandtl = air_transport.prandtl(mean_t, mean_p, pressure)
    forced = (
        forced_convection.nusselt_flat_plate(reynolds, prandtl)
        * air_transport.conductivity(mean_t, mean_p, pressure)
        / length
    )
    size = length * width / (2.0 * (length + width))
    return Film(
        forced=np.stack([forced, forced]),
        natural=films.natural_prefactor(mean_t, mean_p, pressure, size),
        mass_factor=films.mass_film_factor(mean_t, mean_p, pressure),
    )


@dataclass(frozen=True, slots=True)
class GivenAir:
    """Air that does not depend on the slabs: constant, or a straight ramp between two states.

    Attributes
    ----------
    start, end : AirAtSlabs
        At `t_start` and `t_end`; the film of `start` holds throughout.
    t_start, t_end : float
        Times [s]; the same object for `start` and `end` means constant air.
    """

    start: AirAtSlabs
    end: AirAtSlabs
    t_start: float = 0.0
    t_end: float = 1.0

    def at(self, t: float) -> AirAtSlabs:
        """Air at time `t` [s]."""
        if self.end is self.start:
            return self.start
        a, b = self.start, self.end
        s = (t - self.t_start) / (self.t_end - self.t_start)
        return AirAtSlabs(
            temperature_K=a.temperature_K + s * (b.temperature_K - a.temperature_K),
            vapour_fraction=a.vapour_fraction + s * (b.vapour_fraction - a.vapour_fraction),
            wall_K=a.wall_K + s * (b.wall_K - a.wall_K),
            view=a.view,
            pressure_Pa=a.pressure_Pa,
            film=a.film,
        )


def measured_film(film: Film, film_W_m2K: OfFaces | None) -> Film:
    """Return a film with a coefficient for heat given at both faces; as it is where none is.

    Parameters
    ----------
    film : Film
    film_W_m2K : float, tuple of float, or None
        [W/(m2 K)]; two numbers are of the lower and of the upper face.

    Returns
    -------
    Film

    Examples
    --------
    >>> film = Film(forced=np.full((2, 1), 12.0), natural=np.ones(1), mass_factor=np.ones(1))
    >>> measured_film(film, 18.0).forced[:, 0]
    array([18., 18.])
    """
    if film_W_m2K is None:
        return film
    given = np.broadcast_to(np.reshape(film_W_m2K, (-1, 1)), film.forced.shape).astype(float)
    return replace(film, forced=given, natural=np.zeros_like(film.natural))


def given_air(
    stage_air: Air,
    stage_end: Air | None,
    room: Room,
    t_start: float,
    duration: float,
    length: np.ndarray,
    width: np.ndarray,
    film_W_m2K: OfFaces | None = None,
) -> GivenAir:
    """Air of one stage at slices of the given length and width, shape (m,); all they face is at air temperature.

    Parameters
    ----------
    stage_air, stage_end : Air
        At the beginning and, if it changes, at the end of the stage; else None.
    room : Room
        Where the air comes from.
    t_start, duration : float
        Of the stage [s].
    length, width : ndarray, shape (m,)
        Of a slice along and across the flow [m].
    film_W_m2K : float or tuple of float, optional
        Film coefficient [W/(m2 K)], in place of what speed and stillness of the air make; two numbers are of the lower and
        of the upper face.

    Returns
    -------
    GivenAir
        Air over time.

    Examples
    --------
    >>> from dryingsim.batch.schema import Air, Humidity, Room
    >>> room = Room(temperature_K=293.15, relative_humidity=0.5)
    >>> air = Air(temperature_K=341.15, humidity=Humidity(kind="room"), speed_m_s=1.0)
    >>> given_air(air, None, room, 0.0, 3600.0, np.array([0.1]), np.array([0.05])).at(60.0).temperature_K
    array([341.15])
    """
    ones = np.ones_like(length)
    states = []
    for air in (stage_air, stage_end or stage_air):
        t, p = air.temperature_K * ones, vapour_pressure(air, room) * ones
        states.append((t, p, air.speed_m_s * ones))
    mean = [0.5 * (a + b) for a, b in zip(*states, strict=True)]
    film = slice_film(mean[0], mean[1], room.pressure_Pa, mean[2], length, width)
    film = measured_film(film, film_W_m2K)
    both = [
        AirAtSlabs(t, p / room.pressure_Pa, np.stack([t, t]), np.ones((2, t.size)), room.pressure_Pa, film)
        for t, p, _ in states
    ]
    if stage_end is None:
        return GivenAir(both[0], both[0])
    return GivenAir(both[0], both[1], t_start, t_start + duration)
