r"""When dried slices bend without breaking: from pliable to brittle, and what half an hour more does.

Judged by the water activity of each slice once its moisture has evened out: at a common water activity the protein
holds the same water whatever the salt and the sugar, and it is this water that keeps it soft. The two limits with
their ranges and sources stand in `batch/catalog/growth_limits.toml`; the lower one is an estimate. A slice fresh from
the dryer has faces drier, and stiffer, than it will have next day; so the bending test is for a slice that has cooled.

Beside them stands the glass transition of dry muscle, :math:`T_g = (T_s + k X T_w)/(1 + k X)` (Gordon & Taylor), with
the moisture X. It was found for fish only, and decides nothing.
"""

from dataclasses import dataclass
from typing import Annotated, Literal

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.catalog.growth_limits import Texture
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import Window, at_time, first_time_down_to
from dryingsim.judge.taking_off import held_moisture
from dryingsim.model.build import curve_of
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE
from dryingsim.typing import Array

HALF_HOUR_S: Annotated[
    float, Evidence("s", "common practice", "if still juicy, half an hour more and look again; no source")
] = 1800.0
_LOOK_BACK_S: Annotated[
    float, Evidence("s", "numerical", "over which the present rate of drying is taken")
] = 600.0
_GLASS = (
    "glass transition of tuna muscle, {}; the constants give the glass of the paper's abstract, -54.2 degC with 61 % "
    "solids (J. Food Eng. 57:321, 2003). No fit on meat was found"
)
GLASS_SOLID_K: Annotated[float, Evidence("K", "from memory", _GLASS.format("of the solid"))] = (
    95.0 + ZERO_CELSIUS
)
GLASS_WATER_K: Annotated[float, Evidence("K", "from memory", _GLASS.format("of water"))] = (
    -135.0 + ZERO_CELSIUS
)
GLASS_K: Annotated[float, Evidence("-", "from memory", _GLASS.format("weight of water in the mixture"))] = (
    2.89
)

State = Literal["moist", "pliable", "brittle"]


@dataclass(frozen=True, slots=True)
class TextureWindow:
    """From when on slices are pliable, and from when on brittle.

    Attributes
    ----------
    pliable, brittle : Window
        Times [s]; the ends of each hold the range of its limit. Pliable: the last of the slices is. Brittle: the
        first of them is.
    """

    pliable: Window
    brittle: Window

    @property
    def open(self) -> bool:
        """Whether there is a time, as expected, when all bend and none breaks."""
        begin, end = self.pliable.expected_s, self.brittle.expected_s
        return begin is not None and (end is None or end > begin)


@dataclass(frozen=True, slots=True, kw_only=True)
class TextureWindows:
    """The texture of a batch.

    Attributes
    ----------
    limits : Texture
    batch : TextureWindow
        Of all slices together.
    classes, trays : tuple of TextureWindow
        Of each thickness class over all trays, and of each tray.
    """

    limits: Texture
    batch: TextureWindow
    classes: tuple[TextureWindow, ...]
    trays: tuple[TextureWindow, ...]

    @property
    def look_again_s(self) -> float:
        """Half as long as slices of each thickness stay pliable, in whole half hours, one at least [s].

        Half, as meat in one kitchen dries twice as fast as in another.
        """
        spans = [
            window.brittle.expected_s - window.pliable.expected_s
            for window in self.classes
            if window.brittle.expected_s is not None and window.pliable.expected_s is not None
        ]
        return HALF_HOUR_S * max(0.5 * min(spans, default=0.0) // HALF_HOUR_S, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class HalfHourMore:
    """What half an hour more in the present air does.

    Attributes
    ----------
    at_s : float
        Time asked about [s].
    weight_kg : tuple of float
        Of the batch, now and then [kg].
    wettest, driest : tuple of float
        Water activity of the wettest and the driest slices, evened out, now and then [-].
    simulated : bool
        Read off the run, which goes on that long in the same stage; else carried on from the present rate.
    """

    at_s: float
    weight_kg: tuple[float, float]
    wettest: tuple[float, float]
    driest: tuple[float, float]
    simulated: bool


def texture_window(history: History) -> TextureWindows:
    """Return when the slices of a batch are pliable and when brittle.

    Parameters
    ----------
    history : History
    """
    limits = growth_limits.texture()

    def of(slabs: np.ndarray) -> TextureWindow:
        activity = history.equalised_water_activity[:, slabs]
        last, first = activity.max(axis=1), activity.min(axis=1)
        return TextureWindow(
            _window(history.time_s, last, limits.pliable, limits.pliable_range),
            _window(history.time_s, first, limits.brittle, limits.brittle_range),
        )

    everything = np.ones_like(history.kind, dtype=bool)
    return TextureWindows(
        limits=limits,
        batch=of(everything),
        classes=tuple(of(history.kind == kind) for kind in range(int(history.kind.max()) + 1)),
        trays=tuple(of(history.tray == tray) for tray in range(int(history.tray.max()) + 1)),
    )


def _window(time_s: np.ndarray, activity: np.ndarray, limit: float, span: tuple[float, float]) -> Window:
    early, expected, late = (
        first_time_down_to(time_s, activity, level) for level in (span[1], limit, span[0])
    )
    return Window(earliest_s=early, expected_s=expected, latest_s=late)


def state_of(activity: float) -> State:
    """Return the texture at a water activity, evened out.

    Examples
    --------
    >>> state_of(0.9), state_of(0.75), state_of(0.5)
    ('moist', 'pliable', 'brittle')
    """
    limits = growth_limits.texture()
    if activity > limits.pliable:
        return "moist"
    return "pliable" if activity > limits.brittle else "brittle"


def half_hour_more(history: History, at_s: float) -> HalfHourMore:
    """Return what half an hour more changes.

    Parameters
    ----------
    history : History
    at_s : float
        From when on [s]; the end of the run if later.

    Notes
    -----
    Where the stage goes on long enough in the run, it is read off. Else each slab goes on towards equilibrium with
    its air as it did over the last ten minutes: exponentially. Diffusion slows down as meat dries, so that is the
    most that will happen.
    """
    time = history.time_s
    at = min(at_s, float(time[-1]))
    stage = int(np.searchsorted(history.stage_end_s, at - 1e-6))
    ends = float(history.stage_end_s[min(stage, history.stage_end_s.size - 1)])
    now = _moisture_at(history, at)
    simulated = at + HALF_HOUR_S <= ends
    later = _moisture_at(history, at + HALF_HOUR_S) if simulated else _carried_on(history, at, now)
    now, later = (held_moisture(history.batch, moisture) for moisture in (now, later))
    activities = [_evened_out(history, moisture) for moisture in (now, later)]
    weights = [float(history.dry_mass_kg @ (1.0 + moisture)) for moisture in (now, later)]
    return HalfHourMore(
        at_s=at,
        weight_kg=(weights[0], weights[1]),
        wettest=(float(activities[0].max()), float(activities[1].max())),
        driest=(float(activities[0].min()), float(activities[1].min())),
        simulated=simulated,
    )


def _moisture_at(history: History, at_s: float) -> np.ndarray:
    return at_time(at_s, history.time_s, history.mean_moisture_db)


def _carried_on(history: History, at: float, now: np.ndarray) -> np.ndarray:
    """Moisture of each slab half an hour later, by its present rate [kg/kg], shape (m,)."""
    begin = max(at - _LOOK_BACK_S, 0.0)
    before = _moisture_at(history, begin)
    row = int(np.searchsorted(history.time_s, at - 1e-6).clip(0, history.time_s.size - 1))
    air_K, vapour = history.air_temperature_K[row], history.air_vapour_pressure_Pa[row]
    humidity = np.clip(vapour / saturation_pressure(air_K), 1e-3, 0.999)
    rest = np.minimum(curve_of(history.batch).moisture(humidity, air_K), now)
    if at <= begin:
        return now
    kept = np.where(before > rest, (now - rest) / np.where(before > rest, before - rest, 1.0), 1.0)
    return rest + (now - rest) * np.minimum(kept, 1.0) ** (HALF_HOUR_S / (at - begin))


def _evened_out(history: History, moisture: np.ndarray) -> np.ndarray:
    return curve_of(history.batch).water_activity(np.maximum(moisture, 1e-4), REFERENCE_TEMPERATURE)


def glass_transition(moisture_db: Array) -> Array:
    """Glass transition of dry muscle [K]; an estimate, the line of tuna.

    Parameters
    ----------
    moisture_db : float or ndarray
        [kg/kg].

    Examples
    --------
    >>> (glass_transition(np.array([0.1, 0.2])) - 273.15).round(0).tolist()  # degC
    [43.0, 11.0]
    """
    water = GLASS_K * moisture_db
    return (GLASS_SOLID_K + water * GLASS_WATER_K) / (1.0 + water)


def glassy_moisture(temperature_K: float) -> float:
    """Moisture below which dry muscle is a glass at a temperature [kg/kg]; an estimate, the line of tuna.

    Parameters
    ----------
    temperature_K : float
        [K].

    Examples
    --------
    >>> round(glassy_moisture(298.15), 2)
    0.15
    """
    return (GLASS_SOLID_K - temperature_K) / (GLASS_K * (temperature_K - GLASS_WATER_K))
