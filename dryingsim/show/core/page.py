"""A document as a page of HTML that loads nothing.

It is for a telephone as for a wide screen, for paper, for light and dark, and for a screen reader. The same document gives
the same bytes: no dates, no random marks.
"""

from collections.abc import Sequence
from itertools import count

from dryingsim._version import __version__
from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.document import Block, Document, Heading
from dryingsim.show.core.html import set_html
from dryingsim.show.core.inline_svg import css_variables
from dryingsim.show.core.style import DARK_PAPER, PAPER

# words, quieter words, links, panels and lines of the page; each kind of words stands 4.5 to one from paper and panel
LIGHT = {
    "--page": PAPER,
    "--panel": "#f3f5f7",
    "--text": "#1b1f23",
    "--quiet": "#4d565f",
    "--link": "#0a558c",
    "--edge": "#b9c2ca",
    "--alert": "#8c2f00",
}
DARK = {
    "--page": DARK_PAPER,
    "--panel": "#20252b",
    "--text": "#e9ecef",
    "--quiet": "#b3bbc3",
    "--link": "#8cc7f7",
    "--edge": "#4a525a",
    "--alert": "#ffab80",
}
_RULES = """
*{box-sizing:border-box}
html{-webkit-text-size-adjust:100%}
body{margin:0;background:var(--page);color:var(--text);font:1rem/1.5 system-ui,sans-serif;overflow-wrap:break-word}
header,nav,main,footer{max-width:68rem;margin:0 auto;padding:0 1rem}
header{padding-top:1.2rem}
h1{font-size:1.6rem;line-height:1.2;margin:.1em 0 .4em}
h2{font-size:1.3rem;line-height:1.25;margin:2.2rem 0 .6rem;border-top:3px solid var(--edge);padding-top:.8rem}
h3{font-size:1.05rem;line-height:1.3;margin:1.4rem 0 .3rem}
p,li{max-width:44rem}
p{margin:.5rem 0}
a{color:var(--link)}
a:focus-visible,summary:focus-visible,[tabindex]:focus-visible{outline:3px solid var(--link);outline-offset:2px}
.skip{position:absolute;left:-99rem}
.skip:focus{left:1rem;top:.5rem;background:var(--page);padding:.4rem}
nav ul{display:flex;flex-wrap:wrap;gap:.2rem 1.2rem;list-style:none;padding:0;margin:.6rem 0}
nav a{display:inline-block;padding:.3rem 0}
.quiet,figcaption,small{color:var(--quiet);font-size:.9rem}
.caution{color:var(--alert);font-size:.9rem}
dl.key{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,20rem),1fr));gap:.7rem;margin:1rem 0}
dl.key div{background:var(--panel);border-left:4px solid var(--link);padding:.6rem .8rem}
dl.key div.grave{border-left-color:var(--alert)}
dt{color:var(--quiet);font-size:.9rem}
dd{margin:0;line-height:1.4}
details{border-top:1px solid var(--edge);padding:.2rem 0}
summary{padding:.35rem 0;cursor:pointer;font-weight:600}
summary::first-letter{text-transform:uppercase}
.pictures{display:grid;grid-template-columns:repeat(auto-fit,minmax(min(100%,24rem),1fr));gap:.5rem 2rem;align-items:start}
figure{margin:0;min-width:0}
svg.pic{display:block;width:100%;max-width:34rem;height:auto;color:var(--black)}
svg.pic *{stroke-linejoin:round;stroke-linecap:butt}
svg.pic text{fill:var(--black);font-family:system-ui,sans-serif}
.wide{overflow-x:auto}
table{border-collapse:collapse;width:100%;font-size:.9rem}
caption{text-align:left;color:var(--quiet);padding:.2rem 0}
th,td{text-align:left;vertical-align:top;padding:.3rem .6rem .3rem 0;border-bottom:1px solid var(--edge)}
thead th{border-bottom:2px solid var(--edge)}
tbody th{font-weight:600}
.sources td,.sources th{width:25%;overflow-wrap:anywhere}
.sources td:last-child,.sources th:last-child{width:50%}
footer{padding-bottom:2rem;margin-top:2.5rem;border-top:1px solid var(--edge)}
@media (max-width:30rem){table{font-size:.8rem}th,td{padding-right:.4rem}
.sources th:first-child{width:32%}.sources td:last-child,.sources th:last-child{width:43%}}
@media print{details::details-content{content-visibility:visible;block-size:auto}
nav,.skip{display:none}body{font-size:10pt}h2,h3{break-after:avoid}figure,tr,dl.key div{break-inside:avoid}
.pictures{grid-template-columns:1fr 1fr}.wide{overflow:visible}a{color:inherit;text-decoration:none}}
"""


def page_html(document: Document, *, above: str = "", below: str = "", made: str = "") -> str:
    """Return a document as a page; each of its headings begins a section that can be jumped to.

    What stands before its first heading stands above the sections; `above` tells what kind of page it is, `below` what is said at
    its foot; `made` says where its numbers come from, as JSON, and goes into the head.
    """
    sections = _sections(document.blocks)
    links = "".join(f'<li><a href="#{key}">{escape(title)}</a></li>' for key, title, _ in sections if title)
    body = "".join(
        f'<section aria-labelledby="{key}"><h2 id="{key}">{escape(title)}</h2>{set_html(blocks, 3)}</section>\n'
        if title
        else set_html(blocks, 3)
        for key, title, blocks in sections
    )
    name, kind = escape(document.title), f'<p class="quiet">{escape(above)}</p>' if above else ""
    provenance = f'<meta name="provenance" content="{escape(made)}">' if made else ""
    jump = f'<nav aria-label="On this page"><ul>{links}</ul></nav>\n' if links else ""
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f'<meta name="generator" content="dryingsim {__version__}">{provenance}'
        f"<title>{name}</title>\n<style>{style_sheet()}</style></head>\n"
        f'<body><a class="skip" href="#main">To the answer</a>\n<header>{kind}<h1>{name}</h1></header>\n'
        f'{jump}<main id="main">{body}</main>\n'
        f"<footer><p>{escape(below)} dryingsim {__version__}.</p></footer></body></html>\n"
    )


def _sections(blocks: Sequence[Block]) -> list[tuple[str, str, list[Block]]]:
    """Return key, heading and blocks of each section; what stands before the first heading is under none."""
    numbers, found = count(1), [("", "", list[Block]())]
    for block in blocks:
        if isinstance(block, Heading):
            found.append((f"part-{next(numbers)}", block.text, []))
        else:
            found[-1][2].append(block)
    return found if found[0][2] else found[1:]


def style_sheet() -> str:
    """Return the rules of the page; paper is always light."""
    light = LIGHT | css_variables(dark=False)
    dark = DARK | css_variables(dark=True)
    return (
        f":root{{color-scheme:light dark;{_variables(light)}}}"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{_variables(dark)}}}}}"
        f"{_RULES}"
    )


def _variables(values: dict[str, str]) -> str:
    return ";".join(f"{name}:{colour}" for name, colour in values.items())
