"""The data file of the fit, as text."""

from typing import TYPE_CHECKING

from dryingsim.judge.heat_model import HeatResistance
from validation.fits.heat.evidence import FILE
from validation.fits.heat.liquid import FILE as LIQUID_FILE

if TYPE_CHECKING:
    from validation.fits.heat.outcome import Outcome

LASTING = "a judgement: counts after quick heating end at half a minute of a hot surface; a home leaflet boils for 5 min"
HEAD = """# Heat resistance of bacteria in meat, wet and drying, and what heat does not explain.
# Written by `python -m validation.fits.heat --write`; do not edit. How it comes about: validation/fits/heat/report.md.
#
#   log10 D [min] = level - slope t + E (low + rise s) + linear x,  t = T - 60 degC, x = 0.99 - a_w (never below 0)
#   E = 1 - exp(-x/width), s = (t - hinge + sqrt((t - hinge)^2 + 4))/2
#
# [resistance]  mean and covariance of `parameters`, jointly normal. The first are the organisms' levels [log10 min];
#               slope, rise [1/K]; whole: added inside intact muscle; fat: per 20 % above 10 %; cure: salted or cured;
#               hinge [K above 60 degC].
# [between]     standard deviations of log10 D over laboratories, studies of an organism, matrices; of the slope [1/K];
#               of the effect of dryness (times E); rest: within a study.
# [slow]        rise of log10 D in cells warmed slowly: mean, standard deviation for a new study.
# [limits]      below coolest_K log10 D rises by cold_slope per kelvin more; above hottest_K D is held.
# [ceiling.*]   log10 reduction at which survivors resist heat, over studies: rapid for seconds in liquid or steam,
#               long for all.
# [lasting]     a place that was at hot_K or more for quick_s was heated quickly, one for long_s was not; z_K cooler, ten times as
#               long counts as much.
# [drying]      what dry hot air takes besides heat [log10], over studies, faded in: see `dryingsim.judge.heat_model.Drying`.
# [rapid]       how deep in the surface bacteria are taken to sit in rapid heating [m], the unfavourable end (95 %).
"""


def _vector(values: object) -> str:
    return "[" + ", ".join(f"{v:.8g}" for v in values) + "]"  # type: ignore[attr-defined]


def result_file(found: "Outcome") -> str:
    """The data file."""
    studies = len({row.study for row in found.rows})
    laboratories = len({row.laboratory for row in found.rows})
    evidence = (
        f"{len(found.rows)} D values of {studies} studies, {laboratories} laboratories, shared/{FILE}.csv"
    )
    counted = sum(one.one.kind != "heated first, dips" for one in found.verdicts)
    return text_of(
        found.model,
        evidence,
        f"{counted} rows of shared/lethality_challenge_studies.csv",
        f"shared/{LIQUID_FILE}.csv and rows 7-9, 150-152 of shared/lethality_challenge_studies.csv; mostly prior",
    )


def text_of(model: HeatResistance, evidence: str, challenges: str, dips: str) -> str:
    """Return a model as the text of the file."""
    covariance = "".join(f"    {_vector(row)},\n" for row in model.covariance)
    between = [f"{name} = {value:.6g}" for name, value in model.between.items()]
    ceilings = []
    for name, one in model.ceilings.items():
        source = dips if name == "rapid" else "7.3 is the largest reduction counted in the challenge studies"
        ceilings += [
            f"[ceiling.{name}]",
            f'source = "{source}"',
            f"mean = {one.mean:.6g}",
            f"sd = {one.sd:.6g}",
            "",
        ]
    d = model.drying
    parts = [
        HEAD,
        "[resistance]",
        f'source = "python -m validation.fits.heat; {evidence}"',
        "parameters = [" + ", ".join(f'"{name}"' for name in model.names) + "]",
        f"mean = {_vector(model.mean)}",
        f"covariance = [\n{covariance}]",
        "",
        "[between]",
        f'source = "python -m validation.fits.heat; {evidence}"',
        *between,
        "",
        "[slow]",
        f'source = "rows of use slow heating of shared/{FILE}.csv"',
        f"mean = {model.slow[0]:.6g}",
        f"sd = {model.slow[1]:.6g}",
        "",
        "[limits]",
        f'source = "coolest and hottest of shared/{FILE}.csv; that credit ends below is a judgement"',
        f"coolest_K = {model.coolest_K:g}",
        f"cold_slope = {model.cold_slope:g}",
        f"hottest_K = {model.hottest_K:g}",
        "",
        *ceilings,
        "[lasting]",
        f'source = "{LASTING}"',
        *(f"{name} = {getattr(model.lasting, name):g}" for name in ("hot_K", "z_K", "quick_s", "long_s")),
        "",
        "[drying]",
        f'source = "python -m validation.fits.heat; {challenges}. The fading in is a judgement"',
        *(
            f"{name} = {getattr(d, name):.6g}"
            for name in ("mean", "sd", "cool_K", "warm_K", "fall", "hours_s")
        ),
        "",
        "[rapid]",
        f'source = "{dips}"',
        f"depth_m = {model.depth_m:.4g}",
        "",
    ]
    return "\n".join(parts)
