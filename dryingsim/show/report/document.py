"""A batch on one page: the answer, the pictures, what moves the answer, what is assumed by whose word, the cautions."""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from matplotlib.axes import Axes

from dryingsim.answer import Answer
from dryingsim.batch.appliance_description import Description
from dryingsim.batch.catalog.organisms import organisms
from dryingsim.explore.changes import Changed
from dryingsim.history.provenance import attributes
from dryingsim.judge.remedies import Remedy
from dryingsim.show.core.document import (
    Block,
    Caution,
    Detail,
    Document,
    Heading,
    Picture,
    Sentence,
    sentences,
)
from dryingsim.show.core.page import page_html
from dryingsim.show.core.quantities import AROUND, Units, logs
from dryingsim.show.core.tables import SPREAD, Column, Table, word_columns
from dryingsim.show.core.writing import json_text, write_whole
from dryingsim.show.lethality import pictures as lethality_plots
from dryingsim.show.lethality.text import remedy_lines
from dryingsim.show.lethality.words import CAUTIONS, ESTIMATE_WORDS
from dryingsim.show.report import change_pictures as change_plots
from dryingsim.show.report import words
from dryingsim.show.report.sources import Row, assumptions
from dryingsim.show.run import air_pictures as air_plots
from dryingsim.show.run import depth_pictures as depth_plots
from dryingsim.show.run import pictures as plots
from dryingsim.show.run import rate_pictures as rate_plots
from dryingsim.show.run.first_screen import run_document

_ABOVE = "A batch of meat, its drying simulated"
_BELOW = "Computed from equations of heat, moisture and air by"


def report_document(
    answer: Answer,
    changes: Sequence[Changed],
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    description: Description | None = None,
) -> Document:
    """Return all that is told of a batch; what a reader may want later is folded away.

    Parameters
    ----------
    answer : Answer
    changes : sequence of Changed
        As `dryingsim.explore.changes.small_changes` gives them; no word of them if there are none.
    units : str, optional
        "metric" or "us", the units that come first; as the batch file says if left out.
    remedies : sequence of Remedy, optional
        As `dryingsim.judge.remedies.remedies` gives them; no word of them if left out.
    description : Description, optional
        Of the appliance, for the sources of its numbers; that of the catalog if left out.
    """
    shown, told = Units(answer.batch, units), run_document(answer, units)
    first, more = _pictures(answer, shown)
    return Document(
        answer.batch.name,
        [
            Caution(CAUTIONS[0]),
            Heading("The answer"),
            *told.blocks[:-1],  # all cautions stand at the end of the page
            Detail("both systems of units", [_key_numbers(answer)]),
            *([] if remedies is None else _remedies(remedies, shown)),
            Heading("Pictures"),
            *first,
            Detail("more pictures", more),
            *(_changes(changes) if changes else []),
            Heading("What is assumed, and by whose word"),
            Sentence(
                "Everything this run stands on. A source is cited as it was read; “from memory” was not read again; an "
                "“estimate” is an engineering guess."
            ),
            *(Detail(title, [_sources(rows)]) for title, rows in assumptions(answer.history, description)),
            Heading("Cautions"),
            *map(Caution, CAUTIONS),
        ],
        told.data,
    )


def report_html(
    answer: Answer,
    changes: Sequence[Changed],
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    description: Description | None = None,
) -> str:
    """Return the page. Parameters as for `report_document`.

    Examples
    --------
    >>> import dryingsim as ds
    >>> from dryingsim.explore.changes import small_changes
    >>> answer = ds.Answer(ds.run(ds.demo_batch()))
    >>> page = report_html(answer, [])
    >>> page.startswith("<!doctype html>"), "http" in page
    (True, False)
    """
    made = json_text(attributes(answer.batch, answer.batch.name)).replace("\n", " ")
    document = report_document(answer, changes, units, remedies, description)
    return page_html(document, above=_ABOVE, below=_BELOW, made=made)


def write_report(
    answer: Answer,
    changes: Sequence[Changed],
    path: Path,
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    description: Description | None = None,
) -> Path:
    """Write the page whole or not at all; a file of that name is replaced. Parameters as for `report_document`."""
    page = report_html(answer, changes, units, remedies, description)
    return write_whole(Path(path), page.encode("utf-8"))


# --- the answer ------------------------------------------------------------------------------------------------------
def _key_numbers(answer: Answer) -> Table:
    """Return what is weighed and measured in both systems of units, for whoever the page is handed to."""
    done, heat = answer.doneness, answer.heating
    rows = [("loaded", "weight", answer.loaded_kg)]
    if done.weight_kg is not None:
        rows.append(("when done", "weight", done.weight_kg))
    if done.stop is not None and done.stop.weight_kg is not None:
        rows.append(("stop at, surely dry", "weight", done.stop.weight_kg))
    rows += [
        ("coldest spot of the meat, at its hottest", "temperature", heat.peak_K),
        (f"the {AROUND[heat.peak_in]} then", "temperature", heat.air_at_peak_K),
    ]
    both = [
        [getattr(Units(answer.batch, system), kind).text(value) for _, kind, value in rows]
        for system in ("metric", "us")
    ]
    return Table(
        [
            Column(("", "", ""), [what for what, _, _ in rows], left=True),
            Column(("", "metric", ""), both[0]),
            Column(("", "American", ""), both[1]),
        ],
        name="key numbers in both systems",
    )


def _remedies(tried: Sequence[Remedy], shown: Units) -> list[Block]:
    return [
        Heading("What each change does to bacteria"),
        *sentences("Each change was simulated; the cautions hold for them too.", *remedy_lines(tried, shown)),
    ]


# --- pictures --------------------------------------------------------------------------------------------------------
_Draw = Callable[[Axes], object]


def _pictures(answer: Answer, shown: Units) -> tuple[list[Block], list[Block]]:
    """Return the pictures that answer, and those that explain."""
    history, judged, system = answer.history, answer.lethality, shown.system
    worst = judged.worst

    def of_history(draw: Callable[..., object]) -> _Draw:
        return lambda axes: draw(history, axes, system)

    reductions = [
        Picture(
            f"reduction-{estimate}", f"Log reduction of {worst.name}, {name}", words.reduction(history, judged, estimate),
            partial(lethality_plots.reduction_map, history, units=system, organism=worst.organism, estimate=estimate,
                    judged=judged),
            f"Log10 reduction at every depth over time. {'It decides.' if estimate == 'lower' else 'To compare.'}",
        )
        for estimate, name in ESTIMATE_WORDS.items()
    ]  # fmt: skip
    first = [
        Picture("heat", "How hot the air and the meat are", words.temperatures(answer, shown),
                of_history(plots.temperatures), "Thin slices: core and face lie on each other. Dotted: a new stage."),
        Picture("dry", "How dry the slices are", words.water_activity(answer, shown), of_history(plots.water_activity),
                "The water activity each thickness would even out to; band: the target and its error."),
        Picture("weight", "What the meat weighs", words.weight(answer, shown), of_history(plots.weight),
                "The scale is the best clock; slices taken off count as they were then."),
        *(one for one in reductions if one.key.endswith("lower")),
    ]  # fmt: skip
    more = [
        Picture("depth", "Where the water is", words.moisture(answer, shown), of_history(depth_plots.moisture_map),
                "A slice from its lower to its sinking upper face over time. Lines: water per weight of dry solid; thick: "
                "the target."),
        Picture("rate", "The periods of drying", words.rate(history, shown), of_history(rate_plots.drying_rate),
                "Rate over what is left; time runs to the left. Dashed: later stages."),
        Picture("air", "The air's way", words.air(history, shown), of_history(air_plots.air_path),
                "From the room (square), warmed (dotted), to the slices (round); dashed: to its wet bulb. The other curves "
                "are relative humidities."),
        *(one for one in reductions if not one.key.endswith("lower")),
    ]  # fmt: skip
    if history.chamber is not None:
        more.append(
            Picture("trays", "Tray by tray", words.trays(answer), of_history(plots.tray_done),
                    "Dot: all its slices done; bar: how well that is known.")
        )  # fmt: skip
    return [*first], [*more]


# --- what moves the answer -------------------------------------------------------------------------------------------
def _changes(found: Sequence[Changed]) -> list[Block]:
    picture = Picture(
        "changes", "The time until done", words.changes(found), partial(change_plots.what_moves, found),
        "Each thing by itself, a little less of it and a little more.",
    )  # fmt: skip
    return [
        Heading("What moves the answer"),
        Sentence(SPREAD),
        picture,
        Detail("each change simulated", [_change_table(found)]),
    ]


def _change_table(found: Sequence[Changed]) -> Table:
    base = found[0].lethality
    decides = base.worst.organism if base else next(iter(organisms()))
    rows = []
    for subject, runs in change_plots.subjects(found):
        for one in runs:
            reduced = "-"
            if one.lethality is not None:
                entry = next(e for e in one.lethality.organisms if e.organism == decides)
                reduced = f"{logs(entry.counted)} / {logs(entry.best)}; {entry.grade}"
            rows.append(
                (f"{subject}, {one.change}", change_plots.shift_words(one, found[0]), reduced, one.why)
            )
    heads = ("changed", "done", f"log reduction of {organisms()[decides]}, lower / best", "why by so much")
    return Table(word_columns(heads, rows), name="The batch simulated again with one thing changed at a time")


# --- assumptions -----------------------------------------------------------------------------------------------------
def _sources(rows: Sequence[Row]) -> Table:
    cells = [(row.what, row.value, row.source or "-") for row in rows]
    return Table(word_columns(("what", "value (range)", "source"), cells), wraps=True)
