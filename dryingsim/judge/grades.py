"""The numbers of a judgement on log reductions; their words stand in `dryingsim.show`."""

import math
from dataclasses import dataclass, replace
from typing import Annotated, Literal, get_args

from dryingsim.batch.schema import Form, Lies, Species
from dryingsim.evidence import Evidence
from dryingsim.judge.federal_table import TableCompliance
from dryingsim.judge.findings import Finding
from dryingsim.judge.growth import OrganismGrowth

Grade = Literal["far below", "below target", "not shown", "met only if measured", "met"]
GRADES: tuple[Grade, ...] = get_args(Grade)  # worst first
Estimate = Literal["lower", "best"]
ESTIMATES: tuple[Estimate, ...] = get_args(Estimate)
COARSE: Annotated[
    float,
    Evidence(
        "-", "estimate", "share of the reduction on which two rules of integration may differ unmentioned"
    ),
] = 0.1


def cut(reduction: float) -> float:
    """Return a log reduction rounded down to a tenth, as verdicts tell it: never more than was worked out.

    Examples
    --------
    >>> cut(4.98), cut(5.0)
    (4.9, 5.0)
    """
    return math.floor(10.0 * reduction + 1e-9) / 10.0


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganismLethality:
    """What the history does to one organism at the least-reduced place where it may sit.

    Attributes
    ----------
    organism, name : str
    slab, node : int
        Least-reduced slab and node, by the best estimate.
    lower : float
        Lower 95 % bound: the log10 reduction that 19 of 20 new studies exceed; it decides.
    best : float
        Best estimate: the median of new studies [log10].
    heat_lower : float
        The bound of what heat does, without the drying term [log10].
    drying_share : float
        How far the history is one of those in which drying itself was seen to reduce bacteria, 0 to 1.
    probability : float
        That a new study would count the target or more.
    target : float
        Log10 reduction required, and who requires it.
    guideline : str
    grade : str
        One of `GRADES`.
    circumstances : Finding
        What happened at the least-reduced place.
    held_back : bool
        Whether the bound reaches the target, but by what was not shown; `Lethality.warnings` say why.
    quadrature_spread : float
        Log10 by which two rules of integration disagree on `lower`; deducted for the grade (`counted`).
    flags : tuple of Finding
        Where the history leaves the measured range, and what was done about it.
    """

    organism: str
    name: str
    slab: int
    node: int
    lower: float
    best: float
    heat_lower: float
    drying_share: float
    probability: float
    target: float
    guideline: str
    grade: Grade
    circumstances: Finding
    quadrature_spread: float
    flags: tuple[Finding, ...]
    held_back: bool = False

    @property
    def counted(self) -> float:
        """What the grade counts: `lower` less the uncertainty of its integration, rounded down to a tenth."""
        return cut(max(self.lower - self.quadrature_spread, 0.0))

    def not_shown(self) -> "OrganismLethality":
        """Return the same numbers with the grade held back, where it was "met"."""
        if self.grade not in ("met", "met only if measured"):
            return self
        return replace(self, grade="not shown", held_back=True)

    def only_if_measured(self) -> "OrganismLethality":
        """Return the same numbers with the grade on condition that the wet bulb is measured, where it was "met"."""
        return replace(self, grade="met only if measured", held_back=True) if self.grade == "met" else self

    @property
    def coarse(self) -> bool:
        """Whether the two rules of integration differ by so much that it is told."""
        return self.quadrature_spread > COARSE * max(self.lower, 1.0)


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
    heated_first : bool
        Whether the meat is heated before it is laid on the trays at all, be it less hot than asked.
    in_portions : bool
        Whether that is in liquid of which there may be too little for all slices at once.
    timed_s, timed_in_K : float or None
        For how long it is heated then and in how hot a medium [s], [K], where the clock alone ends that: no
        thermometer in the meat.
    until_K, least_s : float or None
        How hot the thickest slices get inside where that ends the heating [K], at least what is asked for, and how long it
        takes then [s]: thinner ones are counted on to be in it for as long. No time where the batch asks for less.
    """

    asked_K: float
    hottest_K: float
    reached_s: float | None
    face_water_activity: float | None
    before_drying: bool
    heated_first: bool
    in_portions: bool
    timed_s: float | None
    timed_in_K: float | None
    until_K: float | None
    least_s: float | None

    @property
    def heated_s(self) -> float:
        """For how long the meat is heated before it dries [s]; nil where that is not told."""
        return max(self.timed_s or 0.0, self.least_s or 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Lethality:
    """The judgement on a batch: every organism, the worst one limits.

    Attributes
    ----------
    form, species : str
    organisms : tuple of OrganismLethality
    table : TableCompliance or None
        The federal table with its humidity condition; None where only a probe's place is judged.
    advice : HomeAdvice or None
    slab_tray, slab_thickness_m, slab_lies : tuple
        Tray and thickness [m] of every slab, and how it lies; empty where unknown.
    node_count : int
        Nodes across a slab.
    turned : bool
        Whether slices are turned over: nodes are then counted from the side that lay below at first.
    growth : tuple of OrganismGrowth
        How much each kind of bacteria may have grown.
    without_heat : float
        By how much E. coli O157:H7 may have declined besides, too dry to grow and not hot: the best estimate where it is least
        among the places where bacteria may sit [log10]. In no bound, no best estimate and no grade.
    beside : tuple of Finding
        What others counted with acid or cure, where the marinade has it: in no bound and no best estimate.
    parasites : tuple of Finding
        A separate check by the kind of animal.
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
    slab_lies: tuple[Lies, ...] = ()
    node_count: int = 0
    turned: bool = False
    growth: tuple[OrganismGrowth, ...] = ()
    without_heat: float = 0.0
    beside: tuple[Finding, ...] = ()
    parasites: tuple[Finding, ...] = ()
    warnings: tuple[Finding, ...] = ()

    @property
    def grade(self) -> Grade:
        """The worst grade of all organisms."""
        return self.worst.grade

    @property
    def met_as_computed(self) -> bool:
        """Whether the bound reaches every target, be it on grounds that were not shown."""
        return all(one.grade == "met" or one.held_back for one in self.organisms)

    @property
    def worst(self) -> OrganismLethality:
        """The organism with the worst grade; of several, the one farthest from its target."""
        return min(self.organisms, key=lambda e: (GRADES.index(e.grade), e.lower - e.target))
