"""What moves the answer, as a picture: the time until done with one thing changed at a time."""

from collections.abc import Sequence

from matplotlib.axes import Axes

from dryingsim.explore.changes import Changed
from dryingsim.show.core.quantities import spoken
from dryingsim.show.core.style import BLACK, INKS, ORANGE, SKY, new_axes, open_frame


def subjects(found: Sequence[Changed]) -> list[tuple[str, list[Changed]]]:
    """Return what is changed, each with its runs, that which moves the time most first; an unknown end counts most."""
    base = found[0].done_s
    groups: dict[str, list[Changed]] = {}
    for one in found[1:]:
        groups.setdefault(one.subject, []).append(one)

    def moved(runs: list[Changed]) -> float:
        simulated = [
            one for one in runs if one.answers is not None
        ]  # a run that failed moves nothing that is known
        return max(
            (
                float("inf") if one.done_s is None or base is None else abs(one.done_s - base)
                for one in simulated
            ),
            default=0.0,
        )

    return sorted(groups.items(), key=lambda item: -moved(item[1]))


def shift_s(one: Changed, base: Changed) -> float:
    """Return how much later a changed batch is done [s]; where it is not in its plan, how much later at least."""
    start = base.done_s if base.done_s is not None else base.end_s
    return one.done_s - start if one.done_s is not None else max(one.end_s - start, 0.0)


def shift_words(one: Changed, base: Changed) -> str:
    """Return how much later or earlier a changed batch is done, in words."""
    if one.answers is None:
        return "could not be simulated"
    if base.done_s is None:
        return "not done in the plan" if one.done_s is None else f"done after {spoken(one.done_s)}"
    if one.done_s is None:
        return f"not done when the plan ends, after {spoken(one.end_s)}"
    later = shift_s(one, base)
    if abs(later) < 60.0:
        return "no change"
    return f"{spoken(abs(later))} {'later' if later > 0.0 else 'earlier'}"


def _sided(ends: list[tuple[float, str, str]]) -> list[tuple[tuple[float, str, str], str]]:
    """Return the side of each bar's words: of two the sooner one's are on the left; of one alone, where its bar is."""
    if len(ends) == 1:
        return [(ends[0], "right" if ends[0][0] < 0.0 else "left")]
    return list(zip(sorted(ends), ("right", "left"), strict=False))


def what_moves(found: Sequence[Changed], axes: Axes | None = None) -> Axes:
    """Draw how much earlier or later the batch is done with one thing changed; the largest effect on top.

    Parameters
    ----------
    found : sequence of Changed
        As `dryingsim.explore.changes.small_changes` gives them.
    axes : matplotlib Axes, optional
        Where to draw; a new figure if left out.

    Returns
    -------
    matplotlib Axes
    """
    axes, base, rows = axes or new_axes(), found[0], subjects(found)
    widest = 0.1
    for number, (subject, runs) in enumerate(rows):
        ends, failed = [], []
        for one, colour in zip(runs, (SKY, ORANGE), strict=True):
            if one.answers is None:  # neither sooner nor later
                failed.append(f"{one.change}: could not be simulated")
                continue
            hours = shift_s(one, base) / 3600.0
            axes.barh(number, hours, color=colour, height=0.3)
            beyond = ", not done yet" if one.done_s is None else ""
            ends.append((hours, colour, f"{one.change}{beyond}"))
            widest = max(widest, abs(hours))
        axes.annotate(
            "; ".join((subject, *failed)), (0.0, number), (2.0, 13.0), xycoords=axes.get_yaxis_transform(),
            textcoords="offset points", va="center", fontweight="bold", fontsize="small",
        )  # fmt: skip
        # left of the bars what comes sooner, right what comes later
        for (hours, colour, words), side in _sided(ends):
            place, away = (min(hours, 0.0), -4.0) if side == "right" else (max(hours, 0.0), 4.0)
            axes.annotate(
                words, (place, number), (away, 0.0), textcoords="offset points", ha=side, va="center",
                fontsize="small", color=INKS[colour],
            )  # fmt: skip
    axes.axvline(0.0, color=BLACK, linewidth=1.0)
    axes.set_ylim(len(rows) - 0.5, -0.75)
    axes.set_xlim(-1.9 * widest, 1.9 * widest)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    axes.set_xlabel("done earlier (below 0) or later (h)")
    axes.set_title("What moves the time until done", loc="left")
    open_frame(axes)
    return axes
