"""The nouns of a schedule, in SI: air and its humidity, what ends a stage, a stage; see `dryingsim.batch.schema`."""

from dataclasses import dataclass
from typing import Literal, get_args

from dryingsim.batch.checks import check_choice, check_field_kind, check_fields
from dryingsim.errors import InputError

HumidityKind = Literal["room", "relative", "wet_bulb", "dew_point"]
StageKind = Literal["air", "marinade", "water", "steam", "rest"]
LONGEST_S = 366 * 86400.0
SHORTEST_S = 60.0  # of what no file holds, such as how long to look on: less is meant in hours
AIR_RANGE_K = (250.0, 450.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Humidity:
    """How moist the drying air is.

    Attributes
    ----------
    kind : str
        "room": the room's own humidity ratio, its air only warmed (or cooled); "relative"; "wet_bulb"; "dew_point".
    value : float
        Relative humidity, 0 to 1, or a temperature [K]; not used for "room".
    measured : bool
        Whether it was measured at the slices, with the meat in. A humidity that was not is no ground for a verdict.
    """

    kind: HumidityKind
    value: float = 0.0
    measured: bool = False

    def __post_init__(self) -> None:
        check_choice("Humidity, kind", self.kind, get_args(HumidityKind))
        if not isinstance(self.measured, bool):
            raise InputError(f"Humidity, measured = {self.measured!r}: True or False is expected")
        if self.kind == "room" and self.measured:
            raise InputError("Humidity, measured: give what was measured, as relative, wet_bulb or dew_point")
        if self.kind != "room":
            check_fields(self, value=(0.0, 1.0) if self.kind == "relative" else (200.0, 380.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air at the slices, at one moment.

    Attributes
    ----------
    temperature_K : float
        [K]
    humidity : Humidity
    speed_m_s : float
        Past the slices [m/s]; with an appliance its own counts.
    """

    temperature_K: float
    humidity: Humidity
    speed_m_s: float

    def __post_init__(self) -> None:
        check_field_kind("Air, humidity", self.humidity, Humidity)
        check_fields(self, temperature_K=AIR_RANGE_K, speed_m_s=(0.0, 50.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Until:
    """A condition on the whole batch that ends a stage; the one reached first counts.

    Attributes
    ----------
    weight_loss : float or None
        Share of the weight laid on that has gone, 0 to 1; all slices count as left in, those that are ready too.
    core_temperature_K : float or None
        Of the middle of the coldest slice [K].
    water_activity : float or None
        Of the wettest slice once its moisture has evened out.
    """

    weight_loss: float | None = None
    core_temperature_K: float | None = None
    water_activity: float | None = None

    def __post_init__(self) -> None:
        check_fields(self, weight_loss=(0.0, 1.0), core_temperature_K=AIR_RANGE_K, water_activity=(0.0, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A part of the schedule with one setting, or one straight ramp.

    With an appliance, `air` is what its thermostat (and humidity control) is set to; the speed is the appliance's.

    Attributes
    ----------
    name : str
    air : Air
        At its beginning, and all along without `air_end`. Of a stage of another kind only the temperature counts.
    kind : str
        What the slices are in: drying "air"; hot "marinade", or plain "water", which takes salt and sugar out, stirred in it, or
        "steam", all before the first drying air only; "rest": covered, so that nothing dries.
    air_end : Air or None
        At its end; needs a duration.
    duration_s : float or None
        At the longest [s]; needed without `until`.
    until : Until or None
        Ends it earlier.
    turn : bool
        Whether the slices are turned over when it begins.
    door_gap_m : float or None
        Of the appliance in this stage [m]; None: as the appliance says.
    """

    name: str
    air: Air
    kind: StageKind = "air"
    air_end: Air | None = None
    duration_s: float | None = None
    until: Until | None = None
    turn: bool = False
    door_gap_m: float | None = None

    def __post_init__(self) -> None:
        if callable(self.air):
            raise InputError(
                "Stage, air is a function; one ds.Air(...) is expected, with air_end for a straight ramp: ds.air_stages(...) "
                "makes several stages of a function"
            )
        check_choice("Stage, kind", self.kind, get_args(StageKind))
        check_field_kind("Stage, air", self.air, Air)
        if self.air_end is not None:
            check_field_kind("Stage, air_end", self.air_end, Air)
        if self.until is not None:
            check_field_kind("Stage, until", self.until, Until)
        check_fields(self, duration_s=(0.0, LONGEST_S), door_gap_m=(0.0, 5.0))

    @property
    def dries(self) -> bool:
        """Whether the slices lie in drying air."""
        return self.kind == "air"

    @property
    def in_liquid(self) -> bool:
        """Whether they are stirred in hot liquid."""
        return self.kind in ("marinade", "water")
