"""The numbers of a judgement on log reductions; their words stand in `dryingsim.show`."""

import math
from dataclasses import dataclass, replace
from typing import Annotated, Literal, get_args

from dryingsim.batch.schema import Form, Species
from dryingsim.evidence import Evidence
from dryingsim.judge.federal_table import TableCompliance
from dryingsim.judge.findings import Finding
from dryingsim.judge.growth_places import OrganismGrowth

SCATTER: Annotated[
    float,
    Evidence(
        "log10",
        "derived",
        "of counts of published runs of drying around the central estimate (validation.food_safety.challenge_studies)",
    ),
] = 2.0
COUNTABLE: Annotated[float, Evidence("log10", "estimate", "nobody can count more")] = 10.0

Grade = Literal["hardly any", "short", "not shown", "reached"]
GRADES: tuple[Grade, ...] = get_args(Grade)  # worst first
COARSE: Annotated[
    float,
    Evidence(
        "-", "estimate", "share of the reduction on which two rules of integration may differ unmentioned"
    ),
] = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganismLethality:
    """What the history does to one organism at the worst place where it may sit.

    Attributes
    ----------
    organism, name : str
    slab, node : int
        Worst slab and node, by the cautious estimate.
    cautious : float
        Log10 reduction by heat, smallest over the places.
    central_heat, central_drying : float
        Log10 reduction by the central set, at its own worst place: by heat, and by drying itself.
    target : float
        Log10 reduction asked for, and who asks.
    guideline : str
    grade : str
        One of `GRADES`.
    circumstances : Finding
        What happened at the worst place.
    held_back : bool
        Whether both estimates reach the target, but by what was not shown; `Lethality.warnings` say why.
    quadrature_spread : float
        Log10 by which two rules of integration disagree on `cautious`; deducted for the grade (`counted`).
    flags : tuple of Finding
        Where the history leaves the measured range, and what was done about it.
    """

    organism: str
    name: str
    slab: int
    node: int
    cautious: float
    central_heat: float
    central_drying: float
    target: float
    guideline: str
    grade: Grade
    circumstances: Finding
    quadrature_spread: float
    flags: tuple[Finding, ...]
    held_back: bool = False

    @property
    def counted(self) -> float:
        """What the grade counts: `cautious` less the doubt of its integration, rounded down to a tenth."""
        return math.floor(10.0 * max(self.cautious - self.quadrature_spread, 0.0) + 1e-9) / 10.0

    def not_shown(self) -> "OrganismLethality":
        """Return the same numbers with the grade held back, where it was "reached"."""
        if self.grade != "reached":
            return self
        return replace(self, grade="not shown", held_back=True)

    @property
    def coarse(self) -> bool:
        """Whether the two rules of integration differ by so much that it is told."""
        return self.quadrature_spread > COARSE * max(self.cautious, 1.0)

    @property
    def central(self) -> float:
        """Log10 reduction of the central estimate, heat and drying together."""
        return self.central_heat + self.central_drying


@dataclass(frozen=True, slots=True, kw_only=True)
class HomeAdvice:
    """How the batch stands to the home advice to heat the meat through before it is dried.

    Attributes
    ----------
    asked_K, hottest_K : float
        Temperature asked for, and the highest that the coldest spot of the meat reached [K].
    reached_s : float or None
        When the coldest spot first was as hot as asked [s].
    face_water_activity : float or None
        The lowest of any face at that time [-].
    before_drying : bool
        Whether it was reached by heating the meat before it was laid on the trays.
    """

    asked_K: float
    hottest_K: float
    reached_s: float | None
    face_water_activity: float | None
    before_drying: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Lethality:
    """The judgement on a batch: every organism, the worst one decides.

    Attributes
    ----------
    form, species : str
    organisms : tuple of OrganismLethality
    table : TableCompliance or None
        The federal table with its humidity condition; None where only a probe's place is judged.
    advice : HomeAdvice or None
    slab_tray, slab_thickness_m : tuple
        Tray and thickness [m] of every slab; empty where unknown.
    node_count : int
        Nodes across a slab.
    growth : tuple of OrganismGrowth
        How much each kind of bacteria may have grown.
    warnings : tuple of Finding
        What stands before the verdict: growth of bacteria, grounds that were not shown, a species not stated.
    """

    form: Form
    species: Species
    organisms: tuple[OrganismLethality, ...]
    table: TableCompliance | None = None
    advice: HomeAdvice | None = None
    slab_tray: tuple[int, ...] = ()
    slab_thickness_m: tuple[float, ...] = ()
    node_count: int = 0
    growth: tuple[OrganismGrowth, ...] = ()
    warnings: tuple[Finding, ...] = ()

    @property
    def grade(self) -> Grade:
        """The worst grade of all organisms."""
        return self.worst.grade

    @property
    def reached_as_computed(self) -> bool:
        """Whether both estimates reach every target, be it on grounds that were not shown."""
        return all(one.grade == "reached" or one.held_back for one in self.organisms)

    @property
    def worst(self) -> OrganismLethality:
        """The organism with the worst grade; of several, the one farthest from its target."""
        return min(self.organisms, key=lambda e: (GRADES.index(e.grade), e.central - e.target))
