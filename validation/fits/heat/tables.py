"""The tables of the page."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from scipy.special import ndtri

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.heat_resistance import COUNTABLE, log10_d
from validation.fits.heat import cold
from validation.fits.heat.build import KEYS
from validation.fits.heat.challenge import KINDS
from validation.fits.heat.laws import BEYOND, LAWS
from validation.fits.heat.resistance import LeftOut
from validation.fits.heat.verdicts import Verdict, typed_humidity

if TYPE_CHECKING:
    from validation.fits.heat.outcome import Outcome

MEANING = {
    "slope": "1/K, of -log10 D in raw meat",
    "low": "log10, effect of dryness near raw meat below the hinge",
    "rise": "log10 per K above the hinge",
    "linear": "log10 per unit of water activity",
    "whole": "log10, inside whole muscle against ground",
    "fat": "log10 per 20 % of fat",
    "cure": "log10, salted batters and cured meat",
    "ln_width": "ln of the fall of water activity over which it acts",
    "hinge": "K above 60 degC",
}


def lines(head: tuple[str, ...], body: Sequence[tuple[str, ...]]) -> str:
    """Return a table."""
    return (
        "\n".join("| " + " | ".join(one) + " |" for one in [head, tuple("---" for _ in head), *body]) + "\n"
    )


def figure(value: float) -> str:
    """Return a reduction in words: nobody counts more than seven."""
    return f"{value:.1f}" if value < COUNTABLE else "7 or more"


def parameters(found: "Outcome") -> str:
    """Return the parameters with their errors."""
    f = found.fitted
    body = []
    for name in f.names:
        meaning = MEANING.get(
            name, "log10 of minutes at 60 degC, raw ground meat, another laboratory's median"
        )
        body.append((name, f"{f[name]:.3f}", f"{f.error(name):.3f}", meaning))
    body += [
        (f"between: {name}", f"{sd:.3f}", f"{sd * f.spread_errors[name]:.3f}", "standard deviation")
        for name, sd in f.spreads.items()
    ]
    return lines(("parameter", "value", "standard error", "of"), body)


def decimal_times(found: "Outcome") -> str:
    """Return D60 of a new study."""
    f = found.fitted
    body = []
    for name in KEYS:
        total = float(np.hypot(found.model.level_sd, f.error(name)))
        low, high = (10 ** (f[name] + q * total) for q in (-1.96, 1.96))
        one_sided = 10 ** (f[name] + 1.645 * total)
        body.append(
            (name, f"{10 ** f[name]:.1f}", f"{low:.2f}-{high:.1f}", f"{one_sided:.1f}", f"{total:.2f}")
        )
    head = (
        "organism",
        "median D60, min",
        "95 % of new studies",
        "one-sided 95 %",
        "sd of log10 D, new study",
    )
    return lines(head, body)


def dryness(found: "Outcome") -> str:
    """Return the factor on D that dryness makes."""
    body = []
    for activity in (0.97, 0.94, 0.90, 0.85, 0.70, 0.40):
        cells = []
        for celsius in (50.0, 54.0, 60.0, 65.0, 70.0, 80.0):
            kelvin = celsius + ZERO_CELSIUS
            wet, dry = (float(log10_d(kelvin, a, "salmonella", model=found.model)) for a in (0.99, activity))
            cells.append(f"{10 ** (dry - wet):.3g}")
        body.append((f"{activity:.2f}", *cells))
    return lines(("water activity", "50 degC", "54", "60", "65", "70", "80"), body)


def _share(rows: Sequence[LeftOut], share: float) -> str:
    inside = np.mean([abs(one.z) < ndtri(0.5 + share / 2.0) for one in rows])
    return f"{100 * inside:.0f} %"


def coverage(found: "Outcome") -> str:
    """Return how many D values of a laboratory left out lie inside."""
    kinds: dict[str, Callable[[LeftOut], bool]] = {
        "wet meat": lambda one: one.row.wet,
        "dry": lambda one: not one.row.wet,
        "all": lambda _: True,
    }
    body = []
    for name, keep in kinds.items():
        rows = [one for one in found.left_out if keep(one)]
        laboratories = {one.row.laboratory for one in rows}
        above = np.mean([one.z > 1.645 for one in rows])
        cells = (_share(rows, share) for share in (0.5, 0.8, 0.9))
        body.append((name, str(len(rows)), str(len(laboratories)), *cells, f"{100 * above:.1f} %"))
    head = ("D values", "rows", "laboratories", "inside 50 %", "80 %", "90 %", "D above the one-sided 95 %")
    return lines(head, body)


def laboratories(found: "Outcome") -> str:
    """Return how every laboratory lies against the others."""
    body = []
    for name in dict.fromkeys(one.row.laboratory for one in found.left_out):
        own = [one for one in found.left_out if one.row.laboratory == name]
        studies = {one.row.study for one in own}
        miss = float(np.mean([one.z * one.sd for one in own]))
        beyond = sum(one.z > 1.645 for one in own)
        body.append((name, str(len(studies)), str(len(own)), f"{miss:+.2f}", str(beyond)))
    head = (
        "group",
        "studies",
        "values",
        "mean of log10 D less predicted by the others",
        "above one-sided 95 %",
    )
    return lines(head, body)


def laws(found: "Outcome") -> str:
    """Return the scores of the laws."""
    first = found.scores[BEYOND]
    body = []
    for name in LAWS:
        one = found.scores[name]
        each = np.array([one.score(study) for study in found.scored_studies])
        gain = each - np.array([first.score(study) for study in found.scored_studies])
        error = float(np.sqrt(gain.size) * gain.std(ddof=1))
        draws = 1.0 / float(np.sum(np.square(one.weights())))
        between = one.moments("ln_study")
        body.append(
            (
                name,
                f"{each.sum():.1f}",
                f"{gain.sum():+.1f}",
                f"{error:.1f}",
                f"{np.exp(between[0]):.1f}",
                f"{draws:.0f}",
            )
        )
    head = (
        "law",
        "left-out log score",
        f"against '{BEYOND}'",
        "standard error",
        "between studies, log10",
        "effective draws",
    )
    return lines(head, body)


def cold_counts() -> str:
    """Return what was counted without heat, beside the law."""
    body = []
    for row in (every := cold.counts()):
        ends = f"{row.least:g}" if row.least == row.most else f"{row.least:g} to {row.most:g}"
        counted = ends.replace(" to inf", " or more").replace("-inf to ", "less than ")
        other = cold.constant_of_others(row, every)
        body.append((row.study, row.organism, row.words, counted, f"{row.law:.1f}", f"{other:.1f}"))
    return lines(("study", "organism", "product", "counted", "law", "mean of the other studies"), body)


def cold_compared() -> str:
    """Return the misses of the law and of a constant."""
    body = []
    for name in (*KEYS.values(), None):
        one = cold.compared(name)
        body.append((name or "all", f"{one.rows} ({one.studies})", f"{one.law:.1f}", f"{one.constant:.1f}"))
    return lines(("organism", "rows (studies)", "rms of the law, log", "of a constant, log"), body)


def dips(found: "Outcome") -> str:
    """Return the rapid rows."""
    body = []
    for one in found.dips:
        heat = [f"{np.median(one.heat[i]):.2g} ({np.quantile(one.heat[i], 0.05):.2g})" for i in (0, 2, 4, 6)]
        ends = f"{one.low:g}" if one.low == one.high else f"{one.low:g} to {one.high:g}"
        counted = ends.replace(" to inf", " or more")
        body.append((one.name, one.study, one.words, one.organism, counted, *heat))
    head = (
        "row",
        "study",
        "treatment",
        "organism",
        "counted",
        "heat at the surface",
        "0.1 mm",
        "0.3 mm",
        "0.6 mm",
    )
    return lines(head, body)


def _of_kind(found: "Outcome", kind: str) -> list[Verdict]:
    return [one for one in found.verdicts if one.one.kind == kind]


def kinds(found: "Outcome") -> str:
    """Return what the verdicts come to, by kind of treatment."""
    body = []
    for kind in (*KINDS, "all"):
        rows = found.verdicts if kind == "all" else _of_kind(found, kind)
        enough = [v for v in rows if v.one.sufficient]
        short = [v for v in rows if v.one.insufficient]
        below = sum(v.whole.lower <= min(v.one.high, COUNTABLE) for v in rows)
        body.append(
            (
                kind,
                f"{len(rows)} ({len({v.one.study for v in rows})})",
                f"{below} of {len(rows)}",
                f"{sum(v.whole.lower >= v.one.target for v in short)} of {len(short)}",
                f"{sum(v.vented.lower >= v.one.target for v in short)} of {len(short)}",
                f"{sum(v.heat.lower >= v.one.target for v in enough)} of {len(enough)}",
                f"{sum(v.whole.lower >= v.one.target for v in enough)} of {len(enough)}",
                f"{sum(found.drier.get(v.one.row, v.whole.lower) >= v.one.target for v in enough)}",
                f"{sum(v.vented.lower >= v.one.target for v in enough)}",
            )
        )
    head = (
        "kind",
        "rows (studies)",
        "bound <= published",
        "unsafe passes",
        "the same, humidity unsure",
        "sufficient rows met: heat alone",
        "heat and drying",
        "humidity 5 % or wet bulb 1 K lower",
        "humidity unsure",
    )
    return lines(head, body)


@dataclass(frozen=True)
class BestEstimate:
    """How the best estimate does on the two-sided rows of a kind, beside the mean of the other studies."""

    words: str
    rows: list[Verdict]

    @property
    def _published(self) -> np.ndarray:
        return np.array([v.published for v in self.rows])

    @property
    def miss(self) -> np.ndarray:
        """As a count, less the published value."""
        return np.array([v.counted for v in self.rows]) - self._published

    @property
    def at_place(self) -> np.ndarray:
        """At the least-reduced place, less the published value."""
        return np.array([v.whole.median for v in self.rows]) - self._published

    @property
    def of_constant(self) -> np.ndarray:
        """The mean of the other studies, less the published value."""
        return np.array([_mean_of_others(v, self.rows) for v in self.rows]) - self._published


def _best_estimates(found: "Outcome") -> list[BestEstimate]:
    kinds = (
        ("dry air, slices", "dry air", False),
        ("dry air, formed", "dry air", True),
        ("heated first, dips", "heated first, dips", None),
    )
    return [
        BestEstimate(
            words,
            [v for v in _of_kind(found, kind) if v.one.two_sided and formed in (None, v.one.formed)],
        )
        for words, kind, formed in kinds
    ]


def _rms(values: np.ndarray) -> float:
    return float(np.sqrt(np.mean(np.square(values))))


def best_estimates(found: "Outcome") -> str:
    """Return bias and scatter of the best estimate on two-sided rows, against a constant."""
    body = [
        (
            one.words,
            f"{len(one.rows)} ({len({v.one.study for v in one.rows})})",
            f"{one.miss.mean():+.2f}",
            f"{_rms(one.miss):.2f}",
            f"{one.at_place.mean():+.2f}",
            f"{_rms(one.of_constant):.2f}",
        )
        for one in _best_estimates(found)
    ]
    head = (
        "two-sided rows",
        "rows (studies)",
        "bias as a count",
        "rms",
        "bias at the least-reduced place",
        "rms of the other studies' mean",
    )
    return lines(head, body)


def no_better(found: "Outcome") -> str:
    """Return the kinds in which a constant is as good as the best estimate."""
    words = [one.words for one in _best_estimates(found) if _rms(one.of_constant) <= _rms(one.miss)]
    return "; ".join(words) or "nowhere"


def _mean_of_others(one: Verdict, rows: Sequence[Verdict]) -> float:
    values = [v.published for v in rows if v.one.study != one.one.study]
    return float(np.mean(values)) if values else one.published


def count_coverage(found: "Outcome") -> str:
    """Return how many two-sided rows lie inside their intervals."""
    rows = [v for v in found.verdicts if v.one.two_sided]
    inside = [sum(abs(v.place - 0.5) < share / 2.0 for v in rows) for share in (0.5, 0.8, 0.9)]
    return f"{inside[0]}, {inside[1]}, {inside[2]} of {len(rows)} rows at 50, 80, 90 %"


def typed(found: "Outcome") -> str:
    """Return what is made of a humidity that was only typed."""
    body = []
    for key in KEYS.values():
        one, other = typed_humidity(found.model, key)
        body.append((key, figure(one.median), figure(one.lower), figure(other.median), figure(other.lower)))
    return lines(("organism", "as typed: best", "bound", "half leaking: best", "bound"), body)


def limits(found: "Outcome") -> str:
    """Return the critical limits."""
    keys = tuple(KEYS.values())
    body = [
        (f"{one.wet_bulb_C:g}", *("-" if np.isnan(one.minutes[k]) else f"{one.minutes[k]:.0f}" for k in keys))
        for one in found.limits
    ]
    return lines(("wet bulb, degC", *(f"{key}, min" for key in keys)), body)


def every_row(found: "Outcome") -> str:
    """Return the verdicts row by row."""
    body = []
    for v in found.verdicts:
        one = v.one
        ends = f"{one.low:g}" if one.low == one.high else f"{one.low:g} to {one.high:g}"
        counted = ends.replace(" to inf", " or more").replace("-inf to ", "less than ")
        met = "met" if v.whole.lower >= one.target else "not shown"
        said = "sufficient" if one.sufficient else "insufficient" if one.insufficient else "-"
        body.append(
            (
                str(one.row),
                one.study,
                one.kind,
                one.organism,
                counted,
                f"{figure(v.heat.median)} ({figure(v.heat.lower)})",
                f"{figure(v.whole.median)} ({figure(v.whole.lower)})",
                figure(v.vented.lower),
                f"{100 * v.whole.probability(one.target):.0f} %",
                f"{one.target:g}",
                said,
                met,
            )
        )
    head = (
        "row",
        "study",
        "kind",
        "organism",
        "counted",
        "heat alone: best (bound)",
        "with drying",
        "bound, humidity unsure",
        "chance",
        "target",
        "study",
        "bound",
    )
    return lines(head, body)
