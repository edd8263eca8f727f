"""Tray by tray: the air that enters and leaves each, when its slices are done, and how the trays are loaded.

Trays are numbered by where they lie at the start, the first in the flow first. When trays change places, all
arrays here follow the tray, not the place.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.history import History
from dryingsim.history.columns import tray_places
from dryingsim.judge.done_window import Window, first_time_down_to, windows
from dryingsim.model.laying import tray_area
from dryingsim.model.surroundings import trays_needed
from dryingsim.properties import moist_air


@dataclass(frozen=True, slots=True)
class AirState:
    """Moist air over t times at each tray, arrays of shape (t, trays).

    Attributes
    ----------
    temperature_K, wet_bulb_K, dew_point_K : ndarray
    relative_humidity : ndarray
        From 0 to 1.
    """

    temperature_K: np.ndarray
    relative_humidity: np.ndarray
    wet_bulb_K: np.ndarray
    dew_point_K: np.ndarray


@dataclass(frozen=True, slots=True)
class TrayAir:
    """The air before and after it has passed each tray.

    Attributes
    ----------
    entering : AirState
        Before it.
    leaving : AirState
        After it.
    """

    entering: AirState
    leaving: AirState


@dataclass(frozen=True, slots=True)
class TrayDone:
    """When the slices of one tray are dry.

    Attributes
    ----------
    first_s : float or None
        When its first thickness class is, as computed; None where the run ends before [s].
    all_done : Window
        When all its slices are.
    """

    first_s: float | None
    all_done: Window


@dataclass(frozen=True, slots=True, kw_only=True)
class Trays:
    """How the trays are loaded, and when each is done.

    Attributes
    ----------
    used, needed, slots : int
        Trays the slices lie on, the fewest they fit on, and those the appliance holds.
    cover : float
        Share of a tray's area that slices cover.
    done : tuple of TrayDone
        One per tray.
    apart_s : float or None
        Between the first tray that is done and the last [s]; None where one is not in this run. What
        changing the places of the trays gains is the difference in this between two runs.
    """

    used: int
    needed: int
    slots: int
    cover: float
    done: tuple[TrayDone, ...]
    apart_s: float | None


def judge_trays(history: History) -> Trays | None:
    """Answer how the trays are loaded and when each is done; None for a batch in given air.

    Parameters
    ----------
    history : History
    """
    appliance = history.batch.appliance
    if history.chamber is None or appliance is None:
        return None
    used, tray_m2 = int(history.tray.max()) + 1, appliance.trays.length_m * appliance.trays.width_m
    area = float(tray_area(history.batch, history.area_m2, history.kind).sum())
    done = tuple(_tray_done(history, tray) for tray in range(used))
    times = [tray.all_done.expected_s for tray in done]
    known = [time for time in times if time is not None]
    return Trays(
        used=used,
        needed=trays_needed(area, tray_m2),
        slots=appliance.trays.slots,
        cover=area / (used * tray_m2),
        done=done,
        apart_s=max(known) - min(known) if len(known) == used else None,
    )


def _tray_done(history: History, tray: int) -> TrayDone:
    here, target = history.tray == tray, history.batch.targets.water_activity
    driest = history.equalised_water_activity[:, here].min(axis=1)
    return TrayDone(
        first_s=first_time_down_to(history.time_s, driest, target),
        all_done=windows(history, [here], target)[0],
    )


def tray_air(history: History) -> TrayAir | None:
    """Return the air that enters and leaves each tray; None for a batch in given air.

    Parameters
    ----------
    history : History
    """
    chamber, appliance = history.chamber, history.batch.appliance
    if chamber is None or appliance is None:
        return None
    temperature, humidity = chamber.cell_temperature_K, chamber.cell_humidity_ratio
    place, pressure = tray_places(history), history.batch.room.pressure_Pa
    # cell 0 holds the air before the trays, cell 1 + i that which has passed place i
    before = place if appliance.trays.flow == "series" else np.zeros_like(place)

    def state(cell: np.ndarray) -> AirState:
        t, w = (np.take_along_axis(values, cell, axis=1) for values in (temperature, humidity))
        vapour = moist_air.vapour_pressure(w, pressure)
        return AirState(
            temperature_K=t,
            relative_humidity=moist_air.relative_humidity(vapour, t),
            wet_bulb_K=moist_air.wet_bulb(t, vapour, pressure),
            dew_point_K=moist_air.dew_point(vapour),
        )

    return TrayAir(entering=state(before), leaving=state(1 + place))
