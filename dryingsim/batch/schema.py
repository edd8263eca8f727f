"""A batch as a person means it, in SI: one frozen dataclass per noun. Numbers only, no units, no text parsing.

Units are at the end of the names. Fractions are 0..1. Built from a TOML file by `batch.toml_file`, or directly.
"""

from dataclasses import dataclass, field
from typing import Literal

from dryingsim.constants import STANDARD_PRESSURE

Form = Literal["sliced", "pounded", "minced"]
Support = Literal["mesh", "sheet"]
UnitSystem = Literal["metric", "us"]
HumidityKind = Literal["room", "relative", "wet_bulb", "dew_point"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """Mass fractions of raw meat; they sum to one (the food tables' rounding is removed on reading)."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    ash: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessClass:
    """A share of the slices (by raw weight) that has one thickness."""

    thickness_m: float
    share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Meat:
    """The raw slices as they are laid on the trays."""

    name: str
    composition: Composition
    form: Form
    classes: tuple[ThicknessClass, ...]  # thinnest to thickest not required; shares sum to one
    length_m: float  # of a slice, along the air flow
    width_m: float  # of a slice, across the air flow
    weight_kg: float  # raw, of the whole batch
    temperature_K: float  # of the slices when they go in


@dataclass(frozen=True, slots=True, kw_only=True)
class Marinade:
    """What the meat took up (or lost) in the marinade, per kg of raw meat."""

    salt_kg_kg: float = 0.0
    sugar_kg_kg: float = 0.0  # counted as sucrose
    water_kg_kg: float = 0.0  # may be negative: water drawn out


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The room the air comes from."""

    temperature_K: float
    relative_humidity: float
    pressure_Pa: float = STANDARD_PRESSURE


@dataclass(frozen=True, slots=True, kw_only=True)
class Humidity:
    """How moist the drying air is. `value`: fraction for "relative", K for temperatures, unused for "room".

    "room" means air of the room's own humidity ratio, heated (or cooled) to the air temperature.
    """

    kind: HumidityKind
    value: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Air:
    """Air at the slices, at one moment."""

    temperature_K: float
    humidity: Humidity
    speed_m_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Until:
    """A condition on the whole batch that ends a stage; the one reached first counts.

    `weight_loss` is the fraction of the laid-on weight that has gone; the core is the middle of the coldest
    slice; the water activity is that of the wettest slice once its moisture has evened out.
    """

    weight_loss: float | None = None
    core_temperature_K: float | None = None
    water_activity: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """A part of the schedule with one setting (or one straight ramp from `air` to `air_end`)."""

    name: str
    air: Air
    air_end: Air | None = None  # needs a duration
    duration_s: float | None = None  # at least one of duration_s and until
    until: Until | None = None
    turn: bool = False  # the slices are turned over when the stage begins


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """When the batch counts as dry."""

    water_activity: float = 0.85


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One batch: meat, marinade, room, trays, schedule, targets."""

    name: str
    meat: Meat
    room: Room
    stages: tuple[Stage, ...]
    marinade: Marinade = field(default_factory=Marinade)
    support: Support = "mesh"  # "sheet": the lower face is sealed
    targets: Targets = field(default_factory=Targets)
    display: UnitSystem = "metric"
