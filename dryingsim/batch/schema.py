"""A batch as a person means it, in SI: one frozen dataclass per noun, no units, no parsing.

Units are at the end of the names. Fractions are 0..1. Built from a TOML file by `batch.reading.batch_file`, or directly. What
describes the meat and its air raises `InputError` for a value that can only be a slip, such as percent for a fraction or
degC for K; the limits are wider than those of a batch file, which tells in the units typed.

>>> Room(temperature_K=294.15, relative_humidity=45.0)
Traceback (most recent call last):
dryingsim.errors.InputError: Room, relative_humidity = 45.0 is outside 0 to 1
"""

from dataclasses import dataclass, field
from numbers import Real
from typing import TYPE_CHECKING, Any, Literal, get_args

from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.checks import check_choice, check_range
from dryingsim.batch.soaking import Soak
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError
from dryingsim.lazy_import import from_above

if TYPE_CHECKING:
    from dryingsim.batch.uncertainties import Uncertainty

Form = Literal["sliced", "pounded", "minced"]
Species = Literal["beef", "pork", "poultry", "game", "fish", "other", "unknown"]
Support = Literal["mesh", "sheet"]
Lies = Literal["flat", "sheet", "overlapping"]
UnitSystem = Literal["metric", "us"]
HumidityKind = Literal["room", "relative", "wet_bulb", "dew_point"]
StageKind = Literal["air", "liquid", "steam", "rest"]
_MEAT_K, _ROOM_K, _AIR_K = (250.0, 380.0), (240.0, 323.16), (250.0, 450.0)
_LONGEST_S = 366 * 86400.0


def _check(thing: Any, **limits: tuple[float, float]) -> None:
    """Raise for a field that is no number, or outside its limits; what is left out (None) is not looked at."""
    for name, (low, high) in limits.items():
        value: Any = getattr(thing, name)
        where = f"{type(thing).__name__}, {name}"
        # arrays are the package's own, put together of values looked at before
        if value is None or (hasattr(value, "ndim") and value.ndim):
            continue
        if not isinstance(value, Real) or isinstance(value, bool):
            raise InputError(f"{where} = {value!r}: a number from {low:g} to {high:g} is expected")
        check_range(where, value, float(value), low, high, f"{low:g} to {high:g}")


def _check_kind(where: str, thing: Any, kind: type) -> None:
    """Raise for a field that is not of the kind of noun it has to be."""
    if not isinstance(thing, kind):
        article = "an" if kind.__name__[0] in "AEIOU" else "a"
        raise InputError(
            f"{where} = {thing!r}: {article} {kind.__name__} is expected, such as ds.{kind.__name__}(...)"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """Mass fractions of raw meat; they sum to one (the food tables' rounding is removed on reading)."""

    water: float
    protein: float
    fat: float
    carbohydrate: float
    ash: float

    def __post_init__(self) -> None:
        share = (0.0, 1.0)
        _check(self, water=share, protein=share, fat=share, carbohydrate=share, ash=share)
        total = self.water + self.protein + self.fat + self.carbohydrate + self.ash
        if not hasattr(total, "ndim") or not total.ndim:
            check_range("Composition, the sum", total, total, 0.97, 1.03, "0.97 to 1.03")


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessClass:
    """A share of the slices (by raw weight) that has one thickness, and lies in one way.

    Attributes
    ----------
    thickness_m : float
        Raw [m].
    share : float
        Of the raw weight, 0 to 1.
    lies : str
        "flat", one deep on the batch's `support`; "sheet", on foil or a closed tray; "overlapping", two deep or folded.
    """

    thickness_m: float
    share: float
    lies: Lies = "flat"

    def __post_init__(self) -> None:
        check_choice("ThicknessClass, lies", self.lies, get_args(Lies))
        _check(self, thickness_m=(1e-5, 0.1), share=(1e-9, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Meat:
    """The raw slices as they are laid on the trays.

    Attributes
    ----------
    name : str
        The cut.
    composition : Composition
    form : str
        "sliced" (whole muscle), "pounded" or "minced": where bacteria can be.
    classes : tuple of ThicknessClass
        In any order; their shares sum to one.
    length_m, width_m : float
        Of a slice, along and across the air's way [m].
    weight_kg : float
        Raw, of the whole batch [kg].
    temperature_K : float
        Of the slices when they go in [K].
    species : str
        "beef", "pork", "poultry", "game", "fish" or "other": what guidelines ask for. "unknown" is judged by the strictest
        of them.
    """

    name: str
    composition: Composition
    form: Form
    classes: tuple[ThicknessClass, ...]
    length_m: float
    width_m: float
    weight_kg: float
    temperature_K: float
    species: Species = "unknown"

    def __post_init__(self) -> None:
        _check_kind("Meat, composition", self.composition, Composition)
        for one in self.classes:
            _check_kind("Meat, a class", one, ThicknessClass)
        check_choice("Meat, form", self.form, get_args(Form))
        check_choice("Meat, species", self.species, get_args(Species))
        _check(
            self, length_m=(1e-3, 10.0), width_m=(1e-3, 10.0), weight_kg=(1e-6, 1e4), temperature_K=_MEAT_K
        )
        total = sum(one.share for one in self.classes)
        check_range("Meat, shares of the classes: the sum", total, total, 0.999, 1.001, "0.999 to 1.001")

    @property
    def mean_thickness_m(self) -> float:
        """Of the raw slices, by their shares of the weight [m]."""
        return sum(one.share * one.thickness_m for one in self.classes)


@dataclass(frozen=True, slots=True, kw_only=True)
class Marinade:
    """What the meat took up (or lost) in the marinade, per raw meat [kg/kg].

    Attributes
    ----------
    salt_kg_kg, sugar_kg_kg : float
        Sugar counts as sucrose.
    water_kg_kg : float
        Below zero where water was drawn out.
    known : bool
        Whether the amounts were weighed, or computed from a recipe; a guess leaves the water activity less well known.
    soak : Soak or None
        The ingredients that the amounts were computed from, where they are told.
    """

    salt_kg_kg: float = 0.0
    sugar_kg_kg: float = 0.0
    water_kg_kg: float = 0.0
    known: bool = True
    soak: Soak | None = None

    def __post_init__(self) -> None:
        if not isinstance(self.known, bool):
            raise InputError(f"Marinade, known = {self.known!r}: True or False is expected")
        _check(self, salt_kg_kg=(0.0, 0.3), sugar_kg_kg=(0.0, 1.0), water_kg_kg=(-0.5, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """The room the air comes from.

    Attributes
    ----------
    temperature_K : float
        [K]
    relative_humidity : float
        0 to 1.
    pressure_Pa : float
        Of the air [Pa].
    """

    temperature_K: float
    relative_humidity: float
    pressure_Pa: float = STANDARD_PRESSURE

    def __post_init__(self) -> None:
        _check(self, temperature_K=_ROOM_K, relative_humidity=(0.0, 1.0), pressure_Pa=(2e4, 1.5e5))


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
            _check(self, value=(0.0, 1.0) if self.kind == "relative" else (200.0, 380.0))


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
        _check_kind("Air, humidity", self.humidity, Humidity)
        _check(self, temperature_K=_AIR_K, speed_m_s=(0.0, 50.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Until:
    """A condition on the whole batch that ends a stage; the one reached first counts.

    Attributes
    ----------
    weight_loss : float or None
        Share of the weight laid on that has gone, 0 to 1.
    core_temperature_K : float or None
        Of the middle of the coldest slice [K].
    water_activity : float or None
        Of the wettest slice once its moisture has evened out.
    """

    weight_loss: float | None = None
    core_temperature_K: float | None = None
    water_activity: float | None = None

    def __post_init__(self) -> None:
        _check(self, weight_loss=(0.0, 1.0), core_temperature_K=_AIR_K, water_activity=(0.0, 1.0))


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
        What the slices are in: drying "air"; "liquid", stirred in it, or "steam", both before the first drying air only;
        "rest": covered, so that nothing dries.
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
                "Stage, air is a function; one ds.Air(...) is expected, with air_end for a straight ramp: say air that "
                "changes otherwise in several stages"
            )
        check_choice("Stage, kind", self.kind, get_args(StageKind))
        _check_kind("Stage, air", self.air, Air)
        if self.air_end is not None:
            _check_kind("Stage, air_end", self.air_end, Air)
        if self.until is not None:
            _check_kind("Stage, until", self.until, Until)
        _check(self, duration_s=(0.0, _LONGEST_S), door_gap_m=(0.0, 5.0))

    @property
    def dries(self) -> bool:
        """Whether the slices lie in drying air."""
        return self.kind == "air"


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """When the batch counts as dry."""

    water_activity: float = 0.85

    def __post_init__(self) -> None:
        _check(self, water_activity=(0.01, 0.999))


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """How far something is off (a factor by its natural logarithm, an offset in SI), and how well that is known."""

    value: float
    uncertainty: float  # one standard deviation, for the next batch


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What the logs of earlier batches say; see `batch.learned` for the keys."""

    logs: tuple[str, ...]  # names of the files
    corrections: dict[str, Correction]


@dataclass(frozen=True, slots=True, kw_only=True)
class Batch:
    """One batch: meat, marinade, room, trays, schedule, targets.

    Attributes
    ----------
    name : str
    meat : Meat
    room : Room
    stages : tuple of Stage
        One after the other; at least one.
    marinade : Marinade
    support : str
        What the slices lie on: "mesh", or "sheet", which seals the lower face.
    appliance : Appliance or None
        None: the air of the stages is the air at the slices.
    trays : int or None
        To spread the slices over; None: as many as their area needs.
    rotate_every_s : float or None
        Time after which the tray nearest the heater goes to the far end and the others move up [s].
    targets : Targets
    display : str
        "metric" or "us": units to print in.
    learned : Learned or None
        What earlier logs say. Stages, appliance and meat have it in them already; the diffusivity gets it when it runs.
    uncertainties : dict of Uncertainty
        Those that are stated, by the keys of `batch.uncertainties.INPUTS`; the others have their defaults.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from dryingsim import demo_batch
    >>> batch = demo_batch()
    >>> drying, finish = batch.stages
    >>> cooler = replace(drying, air=replace(drying.air, temperature_K=328.15))
    >>> replace(batch, stages=(cooler,)).stages[0].air.temperature_K
    328.15
    """

    name: str
    meat: Meat
    room: Room
    stages: tuple[Stage, ...]
    marinade: Marinade = field(default_factory=Marinade)
    support: Support = "mesh"
    appliance: Appliance | None = None
    trays: int | None = None
    rotate_every_s: float | None = None
    targets: Targets = field(default_factory=Targets)
    display: UnitSystem = "metric"
    learned: Learned | None = None
    uncertainties: "dict[str, Uncertainty]" = field(default_factory=dict)

    def __post_init__(self) -> None:
        check_choice("Batch, support", self.support, get_args(Support))
        check_choice("Batch, display", self.display, get_args(UnitSystem))
        _check(self, trays=(1, 1000), rotate_every_s=(1.0, _LONGEST_S))

    @property
    def first_drying(self) -> int:
        """Index of the first stage in drying air; what comes before heats the slices or lets them rest."""
        return next(index for index, stage in enumerate(self.stages) if stage.dries)

    @property
    def heated_first(self) -> bool:
        """Whether the slices are in liquid or steam before they come into drying air."""
        return any(stage.kind != "rest" for stage in self.stages[: self.first_drying])

    def to_toml(self) -> str:
        """Return the text of a batch file that reads back as this batch. See `dryingsim.batch.writing.batch_file`."""
        text: str = from_above("Batch.to_toml")(self)
        return text
