"""What the page with sliders says: its sentences, with places for what is computed while somebody slides."""

from dataclasses import replace
from typing import Any

from dryingsim.batch.schema import Batch
from dryingsim.explore.slider_errors import Errors
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import GRADES, Lethality
from dryingsim.show.core.quantities import Units, capital, percent
from dryingsim.show.core.stage_words import setting
from dryingsim.show.lethality.brief import BRIEF, VERDICTS, brief, brief_sentences, heating_as_planned
from dryingsim.show.lethality.words import IN_WATER

NAMES = {
    "thickness_m": "Thickness, raw",
    "air_K": "Air temperature",
    "relative_humidity": "Humidity of the air",
    "speed_m_s": "Air speed",
    "time_s": "Time in the dryer",
}
TITLES = {
    "moisture": (
        "Moisture inside the slice",
        "Water per weight of dry solid, from the lower surface to the upper.",
    ),
    "warmth": ("Temperature inside the slice", "Wet meat stays near the wet bulb; dry meat nears the air."),
    "weight": ("What is left of the weight", "In percent of what was loaded. The scale is the best clock."),
    "heating": ("How the meat warms", "The middle of the slice over time."),
    "chart": (
        "The air and its wet bulb",
        "Water by weight in 1000 of dry air; thin: 10 and 30 % relative humidity, thick: saturated.",
    ),
}
# by picture: what its lines are, as the style sheet names them
LINES = {
    "moisture": {"water": "moisture", "target": "ready, on average"},
    "warmth": {"meat": "meat", "air": "air", "bulb": "wet bulb"},
    "weight": {"water": "weight", "target": "surely dry: stop", "bulb": "ready as computed"},
    "heating": {"meat": "meat", "air": "air", "bulb": "wet bulb"},
    "chart": {"bulb": "air to wet bulb"},
}
_MOVED = {  # warnings that need not hold wherever the sliders stand
    "bacteria_grow",
    "humidity_decides",
    "humidity_decides_unfound",
    "setting_below_limit",
    "learned_decides",
}
_OUTCOME = (
    "Judged at the least favourable grid point next to these settings, for meat taken out now. "
    "Not judged here: the federal table, and anything measured."
)


def dynamic() -> dict[str, Any]:
    """Return the sentences that the page fills in itself."""
    return {
        "verdicts": [VERDICTS[grade] for grade in GRADES],
        "window": "as computed; nine times in ten between {early} and {late}",
        "windowOpen": "as computed; nine times in ten {early} or later",
        "stop": "{weight} of {loaded} ({share})",
        "stopTime": "surely dry (95 %), about after {time}",
        "stopNever": "surely dry (95 %); this air does not get it there",
        "after": "After {time}",
        "now": "ready as computed: water activity {activity}, {target} required",
        "notReady": "not ready yet: water activity {activity}, {target} required",
        "bulb": "surface {surface}; wet bulb of the air {bulb}",
        "reduction": "{organism}: lower bound (95 %) {lower} log, best estimate {best}, {target} required. "
        + _OUTCOME,
        "spoken": "Ready after {ready}. After {time}: {weight} of the weight, meat at {core}.",
        "grown": f"{capital(brief(Finding('bacteria_grow', {'warm_h': 0.0}), str))}.",
        "measure": f"{capital(str(BRIEF['humidity_decides_unfound']))}.",
        "wet": "Not ready yet: meat that is this wet keeps in the cold only.",
    }


def cautions(judged: Lethality, units: Units, *, met: bool) -> list[str]:
    """Return what is said beside a verdict wherever the sliders stand.

    It is judged where the sliders start. Unless the verdict is `met`, if only when measured, what would help is told too.
    """
    told, advice = units.temperature.text, judged.advice
    warned = brief_sentences((one for one in judged.warnings if one.key not in _MOVED), told)
    if advice is None:
        return warned
    asked = told(advice.asked_K)
    if advice.heated_first:  # for how long, goes by where the slider of the thickness stands
        return [heating_as_planned(replace(advice, least_s=None), told), *warned]
    do = f"Do first: heat the slices to {asked} throughout, as in boiling marinade. {IN_WATER}"
    return warned if met else [do, *warned]


def held(batch: Batch, start: Batch, units: Units) -> str:
    """Return what does not move with the sliders. `batch` is that of the file, the sliders begin at `start`."""
    meat, length = batch.meat, units.length.text
    heated = start.stages[: start.first_drying]
    before = ", ".join(f"“{stage.name}” ({setting(stage, start, units)})" for stage in heated)
    first = f"first {before}, as planned; then " if before else ""
    appliance = f", whatever makes it (the file names {batch.appliance.name})" if batch.appliance else ""
    lie = "mesh" if batch.support == "mesh" else "a closed sheet"
    return (
        f"Held as in the file: {meat.name}, {meat.form}, its marinade, slices of {length(meat.length_m)} by "
        f"{length(meat.width_m)}, one deep on {lie}; {first}one steady air as set here, at the slices{appliance}. All slices "
        "are of one thickness. Humidity that is set was not measured."
    )


def accuracy(errors: Errors, units: Units) -> str:
    """Return how well the page tells what lies between the points of its grid."""
    bolder = "no verdict was better than that of the simulation"
    if errors.bolder:
        bolder = f"{errors.bolder} verdicts were better than those of the simulation"
    off = units.temperature.difference(errors.temperature_K)
    return (
        "Between the points of its grid the page interpolates. "
        f"At {errors.settings} settings left out of the grid, {errors.looks} times each, it was off by at most "
        f"{_share(errors.ready)} of the time until ready, {_share(errors.profile)} of the moisture profile (root mean square "
        f"over the depth; {_share(errors.moisture)} at any one depth), {off} in the meat "
        f"after the first minute; {bolder}."
    )


def _share(share: float) -> str:
    return f"{100.0 * share:.1f} %" if share < 0.095 else percent(share)
