"""A batch on one page: the answer, the pictures, what moves the answer, what is assumed by whose word, the cautions.

The page is one HTML file that loads nothing. It is written for a telephone as for a wide screen, for paper, for light
and dark, and for a screen reader. The same run writes the same bytes: no dates, no random marks.
"""

from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path

from matplotlib.axes import Axes

from dryingsim._version import __version__
from dryingsim.answer import Answer
from dryingsim.batch.appliance_description import Description
from dryingsim.batch.catalog.organisms import organisms
from dryingsim.explore.changes import Changed
from dryingsim.history.provenance import attributes
from dryingsim.judge.remedies import Remedy
from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.quantities import Units, logs, spoken
from dryingsim.show.core.tables import SPREAD
from dryingsim.show.core.writing import json_text, write_whole
from dryingsim.show.lethality import pictures as lethality_plots
from dryingsim.show.lethality import text as lethality_text
from dryingsim.show.lethality.words import CAUTIONS, ESTIMATE_WORDS
from dryingsim.show.report import change_pictures as change_plots
from dryingsim.show.report import words as report_words
from dryingsim.show.report.inline_svg import inline_svg, picture_settings
from dryingsim.show.report.look import style_sheet
from dryingsim.show.report.sources import Row, assumptions
from dryingsim.show.run import air_pictures as air_plots
from dryingsim.show.run import depth_pictures as depth_plots
from dryingsim.show.run import pictures as plots
from dryingsim.show.run import rate_pictures as rate_plots
from dryingsim.show.run.text import answer_sentences, lethality_sentences

_GRAVE = (
    "far below",
    "below target",
    "not shown",
    "met only if measured",
)  # grades that are marked: all but the best


def report_html(
    answer: Answer,
    changes: Sequence[Changed],
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    description: Description | None = None,
) -> str:
    """Return the page.

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

    Examples
    --------
    >>> import dryingsim as ds
    >>> from dryingsim.explore.changes import small_changes
    >>> answer = ds.Answer(ds.run(ds.demo_batch()))
    >>> page = report_html(answer, small_changes(answer.batch))
    >>> page.startswith("<!doctype html>"), "http" in page
    (True, False)
    """
    shown = Units(answer.batch, units)
    sections = [
        ("answer", "The answer", _answer(answer, shown, remedies)),
        ("pictures", "Pictures", _pictures(answer, shown)),
        *([("changes", "What moves the answer", _changes(changes))] if changes else []),
        (
            "assumptions",
            "What is assumed, and by whose word",
            _assumptions(assumptions(answer.history, description)),
        ),
        ("cautions", "Cautions", _list(CAUTIONS)),
    ]
    name, made = (
        escape(answer.batch.name),
        json_text(attributes(answer.batch, answer.batch.name)).replace("\n", " "),
    )
    links = "".join(f'<li><a href="#{key}">{title}</a></li>' for key, title, _ in sections)
    body = "".join(
        f'<section aria-labelledby="{key}"><h2 id="{key}">{title}</h2>{content}</section>\n'
        for key, title, content in sections
    )
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f'<meta name="generator" content="dryingsim {__version__}"><meta name="provenance" content="{escape(made)}">'
        f"<title>{name}: simulated drying</title>\n<style>{style_sheet()}</style></head>\n"
        '<body><a class="skip" href="#answer">To the answer</a>\n'
        f'<header><p class="quiet">A batch of meat, its drying simulated</p><h1>{name}</h1>'
        f'<p class="alert">{escape(CAUTIONS[0])}</p></header>\n'
        f'<nav aria-label="On this page"><ul>{links}</ul></nav>\n<main>{body}</main>\n'
        f"<footer><p>Computed by dryingsim {__version__} from equations of heat, moisture and air.</p></footer>"
        "</body></html>\n"
    )


def write_report(
    answer: Answer,
    changes: Sequence[Changed],
    path: Path,
    units: str | None = None,
    remedies: Sequence[Remedy] | None = None,
    description: Description | None = None,
) -> Path:
    """Write the page whole or not at all; a file of that name is replaced. Parameters as for `report_html`."""
    page = report_html(answer, changes, units, remedies, description)
    return write_whole(Path(path), page.encode("utf-8"))


# --- the answer ------------------------------------------------------------------------------------------------------
def _answer(answer: Answer, shown: Units, tried: Sequence[Remedy] | None) -> str:
    system = "us" if shown.bulk.name == "lb" else "metric"
    text = _key_numbers(answer, shown, Units(answer.batch, "metric" if system == "us" else "us"))
    text += _paragraphs(answer_sentences(answer, system))
    text += "<h3>Log reduction of bacteria</h3>" + _paragraphs(lethality_sentences(answer, system))
    if tried is not None:
        lines = lethality_text.remedy_lines(tried, shown)
        text += "<h3>What would reduce bacteria more</h3><p>Each change was simulated; the cautions hold for them too.</p>"
        text += _list(lines)
    return text


def _key_numbers(answer: Answer, shown: Units, other: Units) -> str:
    done, heat, judged = answer.doneness, answer.heating, answer.lethality
    worst, window = judged.worst, done.batch

    def both(kind: str, value: float) -> str:
        return f"{getattr(shown, kind).text(value)} ({getattr(other, kind).text(value)})"

    cards = []
    if window.expected_s is None:
        cards.append(("Done", "not in this run", f"which ends after {spoken(answer.end_s)}", True))
    else:
        late = "far beyond the end of the run" if window.latest_s is None else spoken(window.latest_s)
        early = spoken(window.earliest_s or 0.0)
        cards.append(
            (
                "Done after about",
                spoken(window.expected_s),
                f"nine times in ten between {early} and {late}",
                False,
            )
        )
    if done.weight_kg is not None and done.weight_share is not None:
        laid = f"{100.0 * done.weight_share:.0f} % of the {both('weight', answer.loaded_kg)} loaded"
        cards.append(("The trays then weigh", both("weight", done.weight_kg), laid, False))
    if done.stop is not None and done.stop.weight_kg is not None:
        sure = f"the water activity is then at or below {done.target_water_activity:.2f} with 95 % certainty"
        cards.append(("Stop at", both("weight", done.stop.weight_kg), sure, False))
    air = f"after {spoken(heat.peak_s)}, in air of {both('temperature', heat.air_at_peak_K)}"
    cards.append(("Coldest spot of the meat, at its hottest", both("temperature", heat.peak_K), air, False))
    figures = (
        f"{worst.name}: lower bound {logs(worst.counted)} log, best estimate {logs(worst.best)}, {worst.target:g} required; "
        "in the whole plan"
    )
    grave = judged.grade in _GRAVE
    cards.append(("Log reduction of bacteria", lethality_text.HEADLINES[judged.grade], figures, grave))
    return '<dl class="key">' + "".join(_card(*card) for card in cards) + "</dl>"


def _card(term: str, value: str, more: str, grave: bool) -> str:
    mark = ' class="grave"' if grave else ""
    return f"<div{mark}><dt>{escape(term)}</dt><dd>{escape(value)} <small>{escape(more)}</small></dd></div>"


# --- pictures --------------------------------------------------------------------------------------------------------
_Picture = tuple[str, str, str, str, Callable[[Axes], object]]


def _pictures(answer: Answer, shown: Units) -> str:
    words, units = report_words, "us" if shown.bulk.name == "lb" else "metric"
    history, judged = answer.history, answer.lethality
    worst = judged.worst
    wanted: list[_Picture] = [
        ("heat", "How hot the air and the meat are", "Thin slices: core and face lie on each other. Dotted: a new stage.",
         words.temperatures(answer, shown), lambda axes: plots.temperatures(history, axes, units)),
        ("dry", "How dry the slices are", "The water activity each thickness would even out to; band: the target and its error.",
         words.water_activity(answer, shown), lambda axes: plots.water_activity(history, axes, units)),
        ("weight", "What the trays weigh", "The scale is the best clock.",
         words.weight(answer, shown), lambda axes: plots.weight(history, axes, units)),
        ("depth", "Where the water is", "A slice from its lower to its sinking upper face over time. Lines: water "
         "per weight of dry solid; thick: the target.",
         words.moisture(answer, shown), lambda axes: depth_plots.moisture_map(history, axes, units)),
        ("rate", "The periods of drying", "Rate over what is left; time runs to the left. Dashed: later stages.",
         words.rate(history, shown), lambda axes: rate_plots.drying_rate(history, axes, units)),
        ("air", "The air's way", "From the room (square), warmed (dotted), to the slices (round); dashed: to its wet bulb. "
         "The other curves are relative humidities.",
         words.air(history, shown), lambda axes: air_plots.air_path(history, axes, units)),
    ]  # fmt: skip
    if history.chamber is not None:
        wanted.append(
            ("trays", "Tray by tray", "Dot: all its slices done; bar: how well that is known.", words.trays(answer),
             lambda axes: plots.tray_done(history, axes, units))
        )  # fmt: skip
    part = {"lower": "It decides.", "best": "To compare."}
    for estimate, name in reversed(ESTIMATE_WORDS.items()):
        wanted.append(
            (f"reduction-{estimate}", f"Log reduction of {worst.name}, {name}",
             f"Log10 reduction at every depth over time. {part[estimate]}", words.reduction(history, judged, estimate),
             partial(lethality_plots.reduction_map, history, units=units, organism=worst.organism, estimate=estimate,
                     judged=judged))
        )  # fmt: skip
    with picture_settings():
        return '<div class="pictures">' + "".join(_figure(*one) for one in wanted) + "</div>"


def _figure(key: str, title: str, caption: str, message: str, draw: Callable[[Axes], object]) -> str:
    picture = inline_svg(f"pic-{key}", title, message, draw)
    return (
        f"<figure><h3>{escape(title)}</h3>{picture}"
        f"<figcaption>{escape(caption)} {escape(message)}</figcaption></figure>\n"
    )


# --- what moves the answer -------------------------------------------------------------------------------------------
def _changes(found: Sequence[Changed]) -> str:
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
    with picture_settings():
        picture = _figure(
            "changes",
            "The time until done",
            "Each thing by itself, a little less of it and a little more.",
            report_words.changes(found),
            lambda axes: change_plots.what_moves(found, axes),
        )
    head = ("changed", "done", "log reduction, lower / best; grade", "why by so much")
    caption = (
        "The batch simulated again with one thing changed at a time. "
        f"Log reduction of {organisms()[decides]} at its least-reduced place in the whole plan."
    )
    return f"<p>{escape(SPREAD)}</p>{picture}{_table(caption, head, rows)}"


# --- assumptions and cautions ----------------------------------------------------------------------------------------
def _assumptions(groups: Sequence[tuple[str, Sequence[Row]]]) -> str:
    text = (
        "<p>Everything this run stands on. A source is cited as it was read; “from memory” was not read again; an “estimate” is "
        "an engineering guess.</p>"
    )
    for heading, rows in groups:
        cells = [(row.what, row.value, row.source or "-") for row in rows]
        text += (
            f"<h3>{escape(heading)}</h3>{_table('', ('what', 'value (range)', 'source'), cells, 'sources')}"
        )
    return text


def _table(caption: str, head: Sequence[str], rows: Sequence[Sequence[str]], kind: str = "") -> str:
    told = f"<caption>{escape(caption)}</caption>" if caption else ""
    top = "".join(f'<th scope="col">{escape(one)}</th>' for one in head)
    body = "".join(
        f'<tr><th scope="row">{escape(first)}</th>{"".join(f"<td>{escape(cell)}</td>" for cell in rest)}</tr>\n'
        for first, *rest in rows
    )
    mark = f' class="{kind}"' if kind else ""
    table = f"<table{mark}>{told}<thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
    if kind:
        return table
    return f'<div class="wide" tabindex="0" role="region" aria-label="{escape(caption)}">{table}</div>'


def _paragraphs(sentences: Sequence[str]) -> str:
    return "".join(f"<p>{escape(one)}</p>" for one in sentences)


def _list(lines: Sequence[str]) -> str:
    return "<ul>" + "".join(f"<li>{escape(one)}</li>" for one in lines) + "</ul>"
