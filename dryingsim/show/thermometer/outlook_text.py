"""Where an unfinished batch stands by its log: ready when, log reduction so far, what a change now would do, the next look."""

from typing import Any

import numpy as np

from dryingsim.learn.logged_outlook import Course, Outlook
from dryingsim.show.core.document import picked
from dryingsim.show.core.quantities import Units, logs, percent, spoken
from dryingsim.show.lethality.text import HEADLINES

_CHANGES = {
    "as it is": "If it goes on as it is",
    "hotter": "With the air at {air} from now on",
    "humid hour": "With an hour of humid air now (90 % relative humidity at the air's temperature)",
    "hot finish": "With ten minutes in an oven at {air} once it is ready",
}


def outlook_lines(found: Outlook | None, units: Units) -> list[str]:
    """Return where a batch stands, a sentence or two each; nothing where the log goes beyond the drying."""
    if found is None:
        return []
    if found.look_s is None:
        return [
            "By this estimate all of the batch is dry enough now. Weigh it, and check the driest and the wettest slices."
        ]
    ready = "Not" if found.ready_share <= 0.0 else f"{percent(found.ready_share)} of the draws are"
    return [
        f"{ready} dry enough now, after {spoken(found.now_s)}. Look next at {spoken(found.look_s)} after the start, in "
        f"{spoken(found.look_s - found.now_s)}.",
        *(_course(course, found, units) for course in found.courses),
    ]


def _course(course: Course, found: Outlook, units: Units) -> str:
    air = "" if course.air_K is None else units.temperature.text(course.air_K)
    worst = course.lethality.lethality.worst
    early, middle, late = course.ready_s
    when = "not all of it gets ready within 12 h"
    if np.isfinite(middle):
        span = f"{_till(early)} to {_till(late)}, nine in ten"
        when = f"all of it is ready at about {spoken(middle)} after the start ({span})"
    return (
        f"{_CHANGES[course.change].format(air=air)}: {when}; {worst.name} then at a lower bound of {logs(worst.counted)} log of "
        f"{worst.target:.1f}: {HEADLINES[worst.grade].lower()}."
    )


def _till(seconds: float) -> str:
    return spoken(seconds) if np.isfinite(seconds) else "later than can be followed"


def outlook_values(found: Outlook | None) -> dict[str, Any] | None:
    """Return an outlook as plain values in SI."""
    if found is None:
        return None
    return {
        **picked(found, "now_s", "ready_share", "look_s"),
        "courses": [_course_values(course) for course in found.courses],
    }


def _course_values(course: Course) -> dict[str, Any]:
    lethality = course.lethality.lethality
    worst = lethality.worst
    return {
        **picked(course, "change", "air_K"),
        "ready_s": [t if np.isfinite(t) else None for t in course.ready_s],
        "decides": worst.organism,
        "lower": worst.counted,
        "target": worst.target,
        "grade": lethality.grade,
    }
