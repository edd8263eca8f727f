"""What a case is, how it is run, and what came out."""

import importlib.util
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any, Literal

import numpy as np

KINDS = {
    1: "exact solution",
    2: "textbook worked example",
    3: "standard or handbook table",
    4: "general-purpose library",
    5: "published experiment",
    6: "common practice, no source",
}


@dataclass(frozen=True, kw_only=True)
class Plot:
    """A picture for the report: `points` are reference values, `lines` are computed ones; (label, x, y) each."""

    title: str
    x_label: str
    y_label: str
    points: tuple[tuple[str, Any, Any], ...] = ()
    lines: tuple[tuple[str, Any, Any], ...] = ()
    log: bool = False


@dataclass(frozen=True)
class Listing:
    """A table of text for the report; the first row is its head."""

    title: str
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Result:
    """What a case computes: values, and pictures and tables that show them."""

    values: Any
    plots: tuple[Plot, ...] = ()
    listings: tuple[Listing, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Case:
    """One record: what is checked, against what, how closely and why that closely.

    Attributes
    ----------
    name, kind, source, status, inputs
        `kind` is a key of `KINDS`; `status` says whether the expected value was read, recalled or derived.
    expected : float, array, or function of `full`
        Reference values.
    tolerance : float or array
        Largest deviation allowed, in the unit of the values, or relative if `relative`.
    reason : str
        Why this tolerance and no other.
    compute : callable
        Function of `full` (False: reduced for the test suite) that returns values like `expected`, or a `Result`.
    bound : "near", "at least" or "at most"
        How `expected` is meant; for a bound the tolerance is zero and the bound itself is what `reason` explains.
    known_failure : str
        Why the model misses this; the case stays in the table as failing, but is not a surprise.
    fitted : bool
        These data were used in choosing the model: shown, never counted as evidence.
    requires : str
        Module of a general-purpose library that must be importable.
    slow : bool
        Takes more than about two seconds even when reduced.
    """

    name: str
    kind: int
    source: str
    status: str
    inputs: str
    expected: Any
    tolerance: Any
    reason: str
    compute: Callable[[bool], Any]
    unit: str = "-"
    relative: bool = False
    bound: Literal["near", "at least", "at most"] = "near"
    known_failure: str = ""
    fitted: bool = False
    requires: str = ""
    slow: bool = False

    @property
    def available(self) -> bool:
        """Whether the library this case needs is installed."""
        return not self.requires or importlib.util.find_spec(self.requires) is not None


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """A case that was run."""

    case: Case
    computed: np.ndarray = field(default_factory=lambda: np.array([]))
    expected: np.ndarray = field(default_factory=lambda: np.array([]))
    deviation: float = np.nan  # the one that is largest against its tolerance, signed
    worst: int = 0  # its place
    tolerance: float = np.nan  # what is allowed there
    passed: bool = False
    seconds: float = 0.0
    plots: tuple[Plot, ...] = ()
    listings: tuple[Listing, ...] = ()
    skipped: bool = False
    error: str = ""  # why nothing was computed

    @property
    def verdict(self) -> str:
        """Say "ok", "MISS", "fails" (known and reasoned), "mended" (listed as failing, but passes) or "not run"."""
        if self.skipped:
            return "not run"
        if self.case.known_failure:
            return "mended" if self.passed else "fails"
        return "ok" if self.passed else "MISS"


def run(case: Case, full: bool) -> Outcome:
    """Compute a case and compare it with what was expected."""
    if not case.available:
        return Outcome(case=case, skipped=True)
    start = time.perf_counter()
    try:
        result = case.compute(full)
        expected = case.expected(full) if callable(case.expected) else case.expected
    except (
        RuntimeError,
        ArithmeticError,
    ) as err:  # a solver that gives up is an outcome, not the end of the run
        return Outcome(case=case, error=str(err), seconds=time.perf_counter() - start)
    result = result if isinstance(result, Result) else Result(result)
    values = result.values
    seconds = time.perf_counter() - start
    computed, expected = np.broadcast_arrays(np.asarray(values, float), np.asarray(expected, float))
    computed, expected = computed.ravel(), expected.ravel()
    allowed = np.broadcast_to(np.asarray(case.tolerance, float), np.shape(values)).ravel()
    deviation = computed - expected
    if case.relative:
        deviation = deviation / expected
    excess = {"near": np.abs(deviation), "at least": -deviation, "at most": deviation}[case.bound]
    with np.errstate(divide="ignore", invalid="ignore"):
        score = np.where(np.isfinite(excess), np.where(allowed > 0.0, excess / allowed, excess), np.inf)
    worst = int(np.argmax(score))
    return Outcome(
        case=case,
        computed=computed,
        expected=expected,
        deviation=float(deviation[worst]),
        worst=worst,
        tolerance=float(allowed[worst]),
        passed=bool(np.all(excess <= allowed)),
        seconds=seconds,
        plots=result.plots,
        listings=result.listings,
    )
