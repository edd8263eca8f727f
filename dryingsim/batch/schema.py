"""A batch as a person means it, in SI: one frozen dataclass per noun, no units, no parsing.

Units are at the end of the names. Fractions are 0..1. Built from a TOML file by `batch.reading.batch_file`, or directly. What
describes the meat and its air raises `InputError` for a value that can only be a slip, such as percent for a fraction or
degC for K; the limits are wider than those of a batch file, which tells in the units typed.

>>> Room(temperature_K=294.15, relative_humidity=45.0)
Traceback (most recent call last):
dryingsim.errors.InputError: Room, relative_humidity = 45.0 is outside 0 to 1
"""

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal, get_args

from dryingsim.batch.animals import Species as Species
from dryingsim.batch.animals import called_ground, check_species, clashing, stricter
from dryingsim.batch.appliance_schema import Appliance
from dryingsim.batch.checks import check_choice, check_field_kind, check_fields, check_range
from dryingsim.batch.components import STANDARD, Components
from dryingsim.batch.soaking import Soak
from dryingsim.batch.stage_schema import LONGEST_S, Stage
from dryingsim.batch.stage_schema import Air as Air
from dryingsim.batch.stage_schema import Humidity as Humidity
from dryingsim.batch.stage_schema import HumidityKind as HumidityKind
from dryingsim.batch.stage_schema import StageKind as StageKind
from dryingsim.batch.stage_schema import Until as Until
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError
from dryingsim.lazy_import import from_above

if TYPE_CHECKING:
    from dryingsim.batch.uncertainty import Uncertainty
    from dryingsim.properties.diffusivity import DiffusivityLaw

Form = Literal["sliced", "pounded", "minced"]
Support = Literal["mesh", "sheet"]
Lies = Literal["flat", "sheet", "overlapping"]
TakeOff = Literal["as ready", "together"]
UnitSystem = Literal["metric", "us"]
_MEAT_K, _ROOM_K = (250.0, 380.0), (240.0, 323.16)


@dataclass(frozen=True, slots=True, kw_only=True)
class Composition:
    """Mass fractions of raw meat; they sum to one (the food tables' rounding is removed on reading).

    Attributes
    ----------
    water : float
        [kg/kg].
    protein : float
        [kg/kg].
    fat : float
        [kg/kg].
    carbohydrate : float
        [kg/kg].
    ash : float
        [kg/kg].
    """

    water: float
    protein: float
    fat: float
    carbohydrate: float
    ash: float

    def __post_init__(self) -> None:
        share = (0.0, 1.0)
        check_fields(self, water=share, protein=share, fat=share, carbohydrate=share, ash=share)
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
        check_fields(self, thickness_m=(1e-5, 0.1), share=(1e-9, 1.0))


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
        "beef", "pork", "poultry", "game", "fish": what guidelines ask for; "other" and "unknown": by the strictest.
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
        check_field_kind("Meat, composition", self.composition, Composition)
        for one in self.classes:
            check_field_kind("Meat, a class", one, ThicknessClass)
        check_choice("Meat, form", self.form, get_args(Form))
        if self.form != "minced" and called_ground(self.name):
            raise InputError(
                f"Meat, name = {self.name!r} is ground: form = 'minced' is expected, as bacteria are everywhere in it"
            )
        check_species("Meat, species", self.species)
        check_fields(
            self, length_m=(1e-3, 10.0), width_m=(1e-3, 10.0), weight_kg=(1e-6, 1e4), temperature_K=_MEAT_K
        )
        total = sum(one.share for one in self.classes)
        check_range("Meat, shares of the classes: the sum", total, total, 0.999, 1.001, "0.999 to 1.001")

    @property
    def named_as(self) -> Species | None:
        """Species that the name speaks of, where another one was stated."""
        return clashing(self.name, self.species)

    @property
    def judged_as(self) -> Species:
        """Species whose rules are used: the stricter one where the name speaks of another than was stated."""
        return stricter(self.species, self.named_as)

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

    @property
    def seasoned(self) -> bool:
        """Whether the meat took up any salt or sugar."""
        return self.salt_kg_kg > 0.0 or self.sugar_kg_kg > 0.0

    @property
    def taken_up_kg_kg(self) -> float:
        """All that the meat took up, per raw meat [kg/kg]."""
        return self.salt_kg_kg + self.sugar_kg_kg + self.water_kg_kg

    def __post_init__(self) -> None:
        if not isinstance(self.known, bool):
            raise InputError(f"Marinade, known = {self.known!r}: True or False is expected")
        check_fields(self, salt_kg_kg=(0.0, 0.3), sugar_kg_kg=(0.0, 1.0), water_kg_kg=(-0.5, 1.0))


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
        check_fields(self, temperature_K=_ROOM_K, relative_humidity=(0.0, 1.0), pressure_Pa=(2e4, 1.5e5))


@dataclass(frozen=True, slots=True, kw_only=True)
class Targets:
    """When the batch counts as dry.

    Attributes
    ----------
    water_activity : float
        Of the slices, moisture evened out [-].
    """

    water_activity: float = 0.85

    def __post_init__(self) -> None:
        check_fields(self, water_activity=(0.01, 0.999))


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """How far something is off (a factor by its natural logarithm, an offset in SI), and how well that is known.

    Attributes
    ----------
    value : float
        The most likely.
    uncertainty : float
        One standard deviation, for the next batch.
    """

    value: float
    uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What the logs of earlier batches say; see `batch.learned` for the keys.

    Attributes
    ----------
    corrections : dict[str, Correction]
        By key.
    """

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
    take_off : str
        Slices leave the trays each "as ready", or all "together" once the last are.
    display : str
        "metric" or "us": units to print in.
    learned : Learned or None
        What earlier logs say. Stages, appliance and meat have it in them already; the diffusivity gets it when it runs.
    uncertainties : dict of Uncertainty
        Those that are stated, by the keys of `batch.uncertainties.INPUTS`; the others have their defaults.
    components : Components
        The laws it is simulated with; no file can hold others than those of meat.
    correlations : tuple of (str, str, float)
        Rank correlations of two of these inputs each, which count where they are drawn: in `spread`.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from dryingsim import demo_batch
    >>> replace(demo_batch(), targets=Targets(water_activity=0.8)).targets.water_activity
    0.8
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
    take_off: TakeOff = "as ready"
    display: UnitSystem = "metric"
    learned: Learned | None = None
    uncertainties: "dict[str, Uncertainty]" = field(default_factory=dict, hash=False)
    components: Components = STANDARD
    correlations: tuple[tuple[str, str, float], ...] = ()

    def __post_init__(self) -> None:
        if not isinstance(self.components, Components):
            raise InputError(f"Batch, components = {self.components!r}: ds.Components(...) is expected")
        beside = self.appliance is not None or not all(stage.dries for stage in self.stages)
        if self.components.surface is not None and beside:
            raise InputError(
                f"{self.name}: a held or an isothermal surface needs air as the stages state it: no appliance, no stage beside it"
            )
        if self.components.film_W_m2K is not None and self.appliance is not None:
            raise InputError(f"{self.name}: a given film needs air as the stages state it: no appliance")
        check_choice("Batch, support", self.support, get_args(Support))
        check_choice("Batch, take_off", self.take_off, get_args(TakeOff))
        check_choice("Batch, display", self.display, get_args(UnitSystem))
        check_fields(self, trays=(1, 1000), rotate_every_s=(1.0, LONGEST_S))

    @property
    def first_drying(self) -> int:
        """Index of the first stage in drying air; what comes before heats the slices or lets them rest."""
        return next(index for index, stage in enumerate(self.stages) if stage.dries)

    @property
    def heated_first(self) -> bool:
        """Whether the slices are in liquid or steam before they come into drying air."""
        return any(stage.kind != "rest" for stage in self.stages[: self.first_drying])

    @property
    def washed(self) -> bool:
        """Whether plain water that the slices are heated in takes salt and sugar out of them."""
        return self.marinade.seasoned and any(stage.kind == "water" for stage in self.stages)

    @property
    def seasoning(self) -> Marinade:
        """What of the marinade dries in the meat: water that it was heated in is taken to leave no salt and sugar."""
        return replace(self.marinade, salt_kg_kg=0.0, sugar_kg_kg=0.0) if self.washed else self.marinade

    @property
    def laid_on_kg(self) -> float:
        """Weight of the marinated slices as they are laid on, before anything heats them [kg]."""
        return self.meat.weight_kg * (1.0 + self.marinade.taken_up_kg_kg)

    @property
    def washing(self) -> float:
        """Weight laid on over what it is without the salt and sugar that water takes: 1 where it takes none."""
        return (1.0 + self.marinade.taken_up_kg_kg) / (1.0 + self.seasoning.taken_up_kg_kg)

    def to_toml(self) -> str:
        """Return the text of a batch file that reads back as this batch, in its display units.

        See `dryingsim.batch.writing.batch_file`.
        """
        return str(from_above("Batch.to_toml")(self))


def with_components(
    batch: Batch, components: Components | None = None, diffusivity: "DiffusivityLaw | None" = None
) -> Batch:
    """Return a batch with other laws; as it is where none are given. What a check finds fault with is warned of.

    Parameters
    ----------
    batch : Batch
    components : Components, optional
        In place of its own.
    diffusivity : DiffusivityLaw, optional
        In place of that of the components.

    Returns
    -------
    Batch
    """
    from dryingsim.batch.component_checks import warn_of_faults

    laws = batch.components if components is None else components
    if diffusivity is not None:
        laws = replace(laws, diffusivity=diffusivity)
    warn_of_faults(laws)
    return batch if laws is batch.components else replace(batch, components=laws)
