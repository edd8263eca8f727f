"""The page with sliders as one HTML file that loads nothing: for the telephones of a class, a keyboard, a screen reader."""

from importlib import resources
from pathlib import Path

from dryingsim._version import __version__
from dryingsim.answer import Answer
from dryingsim.explore.slider_errors import Errors
from dryingsim.explore.slider_grid import SliderGrid
from dryingsim.history.provenance import attributes
from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.page import style_sheet
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.tables import BRIEF_CAUTION
from dryingsim.show.core.writing import json_text, write_whole
from dryingsim.show.handout.data import page_data, stops
from dryingsim.show.handout.words import LINES, NAMES, TITLES, accuracy, held
from dryingsim.show.lethality.words import CAUTIONS

# the browser itself keeps the page from loading or sending anything
_ALONE = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"
_CARDS = (
    ("", "ready-head", "Ready after", "ready", "ready-more"),
    ("", "stop-head", "Stop at", "stop", "stop-more"),
    ("", "now-head", "", "now-value", "now-more"),
    ("", "core-head", "Middle of the meat", "core", "core-more"),
    ("safety", "verdict-head", "Log reduction of bacteria", "verdict", "verdict-more"),
)


def handout_html(grid: SliderGrid, errors: Errors, answer: Answer, units: str | None = None) -> str:
    """Return the page. The sliders start where `answer` is of, run until it is ready; `units` are what the page begins with."""
    batch = grid.batch
    name = escape(batch.name)
    made = escape(json_text(attributes(batch, batch.name)).replace("\n", " "))
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{_ALONE}">'
        f'<meta name="generator" content="dryingsim {__version__}"><meta name="provenance" content="{made}">'
        f"<title>{name}: dry it yourself</title>\n<style>{style_sheet()}{_read('page.css')}</style></head>\n"
        '<body><a class="skip" href="#sliders">To the sliders</a>\n'
        f'<header><p class="quiet">Dry it yourself: slide, and see what the meat does</p><h1>{name}</h1>'
        f'<p class="caution">{escape(CAUTIONS[0])}</p>'
        "<noscript><p>This page computes by itself: it needs JavaScript switched on. It loads and sends nothing.</p></noscript>"
        '</header>\n<p class="sticky alone" id="brief" aria-hidden="true"></p>\n'
        f"<main>{_sliders(grid)}{_answers()}{_pictures()}\n"
        f'<section aria-labelledby="about"><h2 id="about">What this page is</h2>{_about(grid, errors, answer)}</section></main>\n'
        f"<footer><p>{escape(BRIEF_CAUTION)}</p><p>Computed by dryingsim {__version__} from equations of heat, moisture and air."
        f'</p></footer>\n<script type="application/json" id="data">{page_data(grid, answer, units)}</script>\n'
        f"<script>{_read('page.js')}</script></body></html>\n"
    )


def write_handout(
    grid: SliderGrid, errors: Errors, answer: Answer, path: Path, units: str | None = None
) -> Path:
    """Write the page whole or not at all; a file of that name is replaced. Parameters as for `handout_html`."""
    return write_whole(Path(path), handout_html(grid, errors, answer, units).encode("utf-8"))


def _read(name: str) -> str:
    return resources.files("dryingsim.show.handout").joinpath(name).read_text(encoding="utf-8")


def _about(grid: SliderGrid, errors: Errors, answer: Answer) -> str:
    """Return what the page is, once in each system of units; the page shows that which is chosen."""
    text = ""
    for system in ("metric", "us"):
        shown = Units(grid.batch, system)
        for sentences in (held(grid.batch, answer.batch, shown), accuracy(errors, shown)):
            text += f'<p class="in-{system}">{escape(sentences)}</p>'
    return text


def _sliders(grid: SliderGrid) -> str:
    # the value stands beside the label for those who see; a reader is told it as the slider's own
    rows = "".join(
        f'<div class="slider"><div><label for="{key}">{escape(NAMES[key])}</label> '
        f'<b id="{key}-value" aria-hidden="true"></b></div>'
        f'<input type="range" id="{key}" min="0" max="{values.size - 1}" step="1"></div>'
        for key, values in stops(grid).items()
    )
    return (
        '<section id="sliders" class="alone" aria-labelledby="sliders-title"><h2 id="sliders-title">Set it</h2>'
        f'<div class="play">{rows}</div><div class="keys">'
        '<button type="button" id="let-dry" aria-pressed="false">Let it dry</button>'
        '<button type="button" id="to-ready">Go to when it is ready</button>'
        '<button type="button" id="again">Back to the batch</button>'
        '<span role="group" aria-label="Units"><button type="button" id="metric">Metric</button> '
        '<button type="button" id="us">US</button></span></div></section>\n'
    )


def _answers() -> str:
    cards = "".join(
        f'<div{f" id={key}" if key else ""}><dt id="{head}">{title}</dt>'
        f'<dd><span id="{value}"></span> <small id="{more}"></small></dd></div>'
        for key, head, title, value, more in _CARDS
    )
    return (
        '<section class="alone" aria-labelledby="answers"><h2 id="answers">What comes of it</h2>'
        f'<dl class="key">{cards}</dl><ul id="cautions" aria-label="Cautions"></ul>'
        '<p class="hidden" id="spoken" role="status" aria-live="polite"></p></section>\n'
    )


def _pictures() -> str:
    figures = "".join(
        f'<figure><h3>{escape(title)}</h3><ul class="names">{_names(key)}</ul>'
        f'<svg class="pic" id="{key}" viewBox="0 0 340 200" role="img"></svg><figcaption>{escape(caption)}</figcaption></figure>'
        for key, (title, caption) in TITLES.items()
    )
    return (
        '<section class="alone" aria-labelledby="seen"><h2 id="seen">Look inside</h2>'
        f'<div class="pictures">{figures}</div></section>'
    )


def _names(key: str) -> str:
    """Return what the lines of a picture are, each with a piece of it."""
    return "".join(
        f'<li class="name"><svg viewBox="0 0 36 8" aria-hidden="true"><path class="{kind}" d="M0 4H36"/></svg>{escape(name)}</li>'
        for kind, name in LINES[key].items()
    )
