"""What slices that overlap or lie on foil cost, in words: when they are done beside those that lie flat."""

import numpy as np

from dryingsim.answer import Answer
from dryingsim.batch.laying import share_lying
from dryingsim.batch.schema import Lies
from dryingsim.show.core.quantities import percent, spoken

LYING: dict[Lies, tuple[str, str]] = {  # what meat it is, and what to do
    "sheet": ("that lies on a sheet", "move it to mesh, or turn it at the first look"),
    "overlapping": ("that overlaps", "lay it apart, or turn and part it at the first look"),
}


def laying_sentences(answer: Answer) -> list[str]:
    """Return a sentence for each way of lying but flat."""
    return [_sentence(answer, lies) for lies in LYING if share_lying(answer.batch.meat.classes, lies)]


def _sentence(answer: Answer, lies: Lies) -> str:
    history = answer.history
    share, (which, advice) = share_lying(history.batch.meat.classes, lies), LYING[lies]
    when, flat = _done_s(answer, lies), _done_s(answer, "flat")
    done = "not done in this run" if when is None else f"done after {spoken(when)}"
    text = f"The {percent(share)} of the meat {which} is {done}"
    if flat is not None:
        text += f", {when / flat:.1f} times as long as" if when is not None else ", unlike"
        text += f" what lies flat ({spoken(flat)})"
        slabs = np.array([one.lies == lies for one in history.batch.meat.classes])[history.kind]
        at = min(int(np.searchsorted(history.time_s, flat)), history.time_s.size - 1)
        wettest = float(history.surface_water_activity[at, 0, slabs].max())
        text += f"; its covered surface is then still at a water activity of {wettest:.2f}"
    return f"{text}: {advice}."


def _done_s(answer: Answer, lies: Lies) -> float | None:
    """When all slices that lie in a way are done, as computed [s]; None where they are not in the run, or there are none."""
    pairs = zip(answer.batch.meat.classes, answer.doneness.classes, strict=True)
    times = [window.expected_s for one, window in pairs if one.lies == lies]
    known = [time for time in times if time is not None]
    return max(known) if known and len(known) == len(times) else None
