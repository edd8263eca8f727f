"""The report: a table on the terminal, report.md, and report.html with its plots inside."""

import html
import io
from collections import Counter
from collections.abc import Iterable, Mapping
from pathlib import Path

import numpy as np

from validation.case import KINDS, Outcome, Plot
from validation.subjects import FOLDER_OF

FOLDER = Path(__file__).resolve().parent / "report"
MOST_POINTS = 100  # of a case in a parity plot
COLUMNS = ("verdict", "kind", "values", "case", "worst deviation", "allowed", "why that much")
STYLE = """body{font:15px/1.5 system-ui,sans-serif;max-width:1100px;margin:2em auto;padding:0 1em;color:#222}
table{border-collapse:collapse;margin:1em 0;font-size:13px}td,th{border-bottom:1px solid #ddd;padding:.3em .6em;
text-align:left;vertical-align:top}.MISS{color:#b00020;font-weight:bold}
.fails{color:#a86500;font-weight:bold}.ok{color:#2a7a2a}
figure{display:inline-block;margin:.5em}details{margin:.2em 0}"""


def counted(outcomes: Iterable[Outcome]) -> list[Outcome]:
    """Outcomes that count as evidence: run, and not on data the model was chosen on."""
    return [o for o in outcomes if not o.skipped and not o.case.fitted]


def totals(outcomes: list[Outcome]) -> list[tuple[str, int, int, int, int, int]]:
    """Rows (kind, cases, values, ok, known failures, misses), then one for all kinds."""
    rows = []
    for kind, label in KINDS.items():
        rows.append((f"{kind} {label}", *_counts([o for o in counted(outcomes) if o.case.kind == kind])))
    return [*rows, ("all kinds", *_counts(counted(outcomes)))]


def _counts(outcomes: list[Outcome]) -> tuple[int, int, int, int, int]:
    verdicts = Counter(o.verdict for o in outcomes)
    good = verdicts["ok"] + verdicts["mended"]
    return (
        len(outcomes),
        sum(o.computed.size for o in outcomes),
        good,
        verdicts["fails"],
        verdicts["MISS"],
    )


def remarks(outcomes: list[Outcome]) -> list[str]:
    """What the totals leave out."""
    fitted = [o for o in outcomes if o.case.fitted]
    skipped = [o for o in outcomes if o.skipped]
    lines = []
    if fitted:
        good = sum(o.passed for o in fitted)
        lines.append(
            f"{len(fitted)} cases on data the model was chosen on are shown but not counted ({good} within)."
        )
    if skipped:
        names = ", ".join(sorted({o.case.requires for o in skipped}))
        lines.append(f"{len(skipped)} cases were not run: {names} is not installed.")
    mended = [o.case.name for o in outcomes if o.verdict == "mended"]
    if mended:
        lines.append(
            "Listed as failing but passing now, so the list is out of date: " + "; ".join(mended) + "."
        )
    return lines


def number(value: float, relative: bool, unit: str) -> str:
    """Show a deviation or a tolerance with its unit."""
    if not np.isfinite(value):
        return "-"
    if relative:
        return f"{100.0 * value:.3g} %"
    return f"{value:.3g}" + ("" if unit == "-" else f" {unit}")


def cells(outcome: Outcome) -> tuple[str, ...]:
    """Cells of one row, in the order of `COLUMNS`."""
    case = outcome.case
    bound = case.bound != "near"
    found = outcome.computed[outcome.worst] if bound and outcome.computed.size else outcome.deviation
    limit = outcome.expected[outcome.worst] if bound and outcome.expected.size else outcome.tolerance
    return (
        outcome.verdict + (" (chosen on)" if case.fitted else ""),
        str(case.kind),
        str(outcome.computed.size),
        case.name,
        outcome.error[:60] or number(float(found), case.relative and not bound, case.unit),
        (case.bound + " " if bound else "") + number(float(limit), case.relative and not bound, case.unit),
        case.reason,
    )


def text_table(outcomes: list[Outcome]) -> str:
    """Table for a terminal, without the reasons."""
    return aligned([COLUMNS[:-1], *(cells(o)[:-1] for o in outcomes)])


def aligned(rows: list[tuple[str, ...]]) -> str:
    """Rows of text as columns two spaces apart."""
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    lines = ("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows)
    return "\n".join(lines)


def totals_table(outcomes: list[Outcome]) -> list[tuple[str, ...]]:
    """Return the totals as text cells with a head."""
    head = ("kind", "cases", "values", "ok", "known failures", "misses")
    return [head, *(tuple(map(str, row)) for row in totals(outcomes))]


# --- Markdown ---------------------------------------------------------------------------------------------------
def _markdown_table(rows: list[tuple[str, ...]]) -> list[str]:
    lines = ["| " + " | ".join(cell.replace("|", "/") for cell in row) + " |" for row in rows]
    return [lines[0], "|" + " --- |" * len(rows[0]), *lines[1:]]


def markdown(subjects: Mapping[str, list[Outcome]], full: bool) -> str:
    """The whole report as Markdown."""
    everything = [o for outcomes in subjects.values() for o in outcomes]
    lines = [
        "# Validation of dryingsim",
        "",
        "Full run." if full else "Reduced run: coarser grids in the slow cases.",
    ]
    lines += ["", *_markdown_table(totals_table(everything)), ""]
    lines += [f"- {r}" for r in remarks(everything)]
    for subject, outcomes in subjects.items():
        lines += ["", f"## {title(subject)}", "", *_markdown_table([COLUMNS, *map(cells, outcomes)]), ""]
        for o in outcomes:
            lines.append(f"- **{o.case.name}**: {o.case.inputs}. Source: {o.case.source} ({o.case.status}).")
            if o.case.known_failure:
                lines.append(f"  Fails because {o.case.known_failure}.")
        for listing in (shown for o in outcomes for shown in o.listings):
            lines += ["", f"**{listing.title}**", "", *_markdown_table(list(listing.rows))]
    return "\n".join(lines) + "\n"


def title(subject: str) -> str:
    """Heading of a subject: its kind, then its name."""
    return f"{FOLDER_OF[subject]}: {subject}".replace("_", " ").capitalize()


# --- HTML -------------------------------------------------------------------------------------------------------
def _html_table(rows: list[tuple[str, ...]]) -> str:
    head = "".join(f"<th>{html.escape(c)}</th>" for c in rows[0])
    body = "".join(
        f'<tr class="{html.escape(row[0].partition(" ")[0])}">'
        + "".join(f"<td>{html.escape(c)}</td>" for c in row)
        + "</tr>"
        for row in rows[1:]
    )
    return f"<table><tr>{head}</tr>{body}</table>"


def page(subjects: Mapping[str, list[Outcome]], full: bool) -> str:
    """The whole report as one HTML file that needs nothing else."""
    everything = [o for outcomes in subjects.values() for o in outcomes]
    parts = [
        "<!doctype html><html lang='en'><head><meta charset='utf-8'><title>Validation of dryingsim</title>",
        f"<style>{STYLE}</style></head><body><h1>Validation of dryingsim</h1>",
        f"<p>{'Full run.' if full else 'Reduced run: coarser grids in the slow cases.'}</p>",
        _html_table(totals_table(everything)),
        *(f"<p>{html.escape(r)}</p>" for r in remarks(everything)),
    ]
    for subject, outcomes in subjects.items():
        parts += [
            f"<h2>{title(subject)}</h2>",
            _html_table([COLUMNS, *map(cells, outcomes)]),
            _sources(outcomes),
        ]
        for listing in (shown for o in outcomes for shown in o.listings):
            parts += [f"<h3>{html.escape(listing.title)}</h3>", _html_table(list(listing.rows))]
        plots = [parity(title(subject), outcomes), *(p for o in outcomes for p in o.plots)]
        parts += [f"<figure>{svg(plot)}</figure>" for plot in plots if plot.points or plot.lines]
    return "".join(parts) + "</body></html>\n"


def _sources(outcomes: list[Outcome]) -> str:
    items = []
    for o in outcomes:
        text = f"{o.case.inputs}. Source: {o.case.source} ({o.case.status})."
        if o.case.known_failure:
            text += f" Fails because {o.case.known_failure}."
        items.append(f"<li><b>{html.escape(o.case.name)}</b>: {html.escape(text)}</li>")
    return f"<details><summary>Inputs and sources</summary><ul>{''.join(items)}</ul></details>"


def parity(subject: str, outcomes: list[Outcome]) -> Plot:
    """Computed over expected for every value of a subject, each case in units of its own largest expected value."""
    near = [o for o in outcomes if o.case.bound == "near" and o.computed.size]
    scaled = [(o, np.max(np.abs(o.expected))) for o in near]
    thin = [max(1, o.computed.size // MOST_POINTS) for o in near]  # every so many: a picture needs no more
    points = tuple(
        (o.case.name, o.expected[::k] / s, o.computed[::k] / s)
        for (o, s), k in zip(scaled, thin, strict=True)
        if s > 0.0
    )
    return Plot(
        title=f"{subject}: computed over expected, each case over its largest value",
        x_label="expected",
        y_label="computed",
        points=points,
        lines=(("equal", np.array([-1.0, 1.0]), np.array([-1.0, 1.0])),) if points else (),
    )


def svg(plot: Plot) -> str:
    """Draw a plot as an inline SVG."""
    import matplotlib
    from matplotlib.figure import Figure

    with matplotlib.rc_context({"svg.fonttype": "none", "font.size": 9}):
        figure = Figure(figsize=(5.2, 3.6), layout="constrained")
        axes = figure.add_subplot()
        for label, x, y in plot.lines:
            axes.plot(x, y, "-", lw=1.2, label=label)
        for label, x, y in plot.points:
            axes.plot(x, y, "o", ms=3.5, mfc="none", label=label)
        if plot.log:
            axes.set(xscale="log", yscale="log")
        axes.set(xlabel=plot.x_label, ylabel=plot.y_label)
        axes.set_title(plot.title, fontsize=9)
        if len(plot.lines) + len(plot.points) <= 10:
            axes.legend(fontsize=7, frameon=False)
        axes.grid(alpha=0.25)
        out = io.StringIO()
        figure.savefig(out, format="svg", metadata={"Date": None})
    text = out.getvalue()
    return text[text.index("<svg") :]


def write(subjects: Mapping[str, list[Outcome]], full: bool) -> Path:
    """Write report.md and report.html; return their folder."""
    FOLDER.mkdir(exist_ok=True)
    (FOLDER / "report.md").write_text(markdown(subjects, full), encoding="utf-8")
    (FOLDER / "report.html").write_text(page(subjects, full), encoding="utf-8")
    return FOLDER
