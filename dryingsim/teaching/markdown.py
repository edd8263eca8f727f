"""The Markdown that lessons use, as HTML: headings, paragraphs, lists, tables, emphasis, code, links, formulas."""

import base64
import re

from dryingsim.plain_text import html_text as escape
from dryingsim.show.lessons.pictures import formula_picture

_INLINE = re.compile(
    r"(?P<code>`[^`]+`)|(?P<math>\$[^$]+\$)|\[(?P<words>[^\]]+)\]\((?P<link>[^)\s]+)\)|"
    r"\*\*(?P<bold>.+?)\*\*|\*(?P<italic>[^*]+)\*"
)
_ITEM = re.compile(r"(?:-|\d+\.) ")


def html_of(markdown: str) -> str:
    """Return Markdown as HTML.

    Parameters
    ----------
    markdown : str
        Blocks stand apart by empty lines; formulas between $ or $$.

    Examples
    --------
    >>> html_of("A *wet* bulb of `30`")
    '<p>A <em>wet</em> bulb of <code>30</code></p>'
    """
    return "\n".join(_block(block) for block in re.split(r"\n\s*\n", markdown.strip()))


def _block(block: str) -> str:
    lines = block.split("\n")
    heading = re.match(r"(#{1,4}) (.*)", lines[0])
    if heading:
        level, rest = len(heading[1]), "\n".join(lines[1:])
        return f"<h{level}>{_words(heading[2])}</h{level}>" + (_block(rest) if rest else "")
    if block.startswith("$$"):
        formula = (
            block.strip("$ ").replace("\n", " ").replace(r"\frac", r"\dfrac")
        )  # a line of its own has room
        return f'<p class="formula">{_formula(formula)}</p>'
    if lines[0].startswith("|"):
        return _table(lines)
    if _ITEM.match(lines[0]):
        return _list(lines)
    return f"<p>{_words(' '.join(lines))}</p>"


def _list(lines: list[str]) -> str:
    kind = "ul" if lines[0].startswith("- ") else "ol"
    items: list[str] = []
    for line in lines:
        mark = _ITEM.match(line)
        if mark:
            items.append(line[mark.end() :])
        else:  # goes on
            items[-1] += f" {line.strip()}"
    return f"<{kind}>{''.join(f'<li>{_words(item)}</li>' for item in items)}</{kind}>"


def _table(lines: list[str]) -> str:
    rows = [[cell.strip() for cell in line.strip("| ").split("|")] for line in lines]
    head = "".join(f"<th>{_words(cell)}</th>" for cell in rows[0])
    body = "".join("<tr>" + "".join(f"<td>{_words(cell)}</td>" for cell in row) + "</tr>" for row in rows[2:])
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _words(text: str) -> str:
    parts, begin = [], 0
    for found in _INLINE.finditer(text):
        parts += [escape(text[begin : found.start()]), _marked(found)]
        begin = found.end()
    return "".join([*parts, escape(text[begin:])])


def _marked(found: re.Match[str]) -> str:
    if found["code"]:
        return f"<code>{escape(found['code'][1:-1])}</code>"
    if found["math"]:
        return _formula(found["math"][1:-1])
    if found["link"]:
        return f'<a href="{escape(found["link"])}">{_words(found["words"])}</a>'
    tag, inner = ("strong", found["bold"]) if found["bold"] else ("em", found["italic"])
    return f"<{tag}>{_words(inner)}</{tag}>"


def _formula(formula: str) -> str:
    svg, depth = formula_picture(formula)
    return f'<img class="formula" alt="{escape(formula)}" src="{image(svg)}" style="vertical-align:{-depth:.2f}em">'


def image(svg: str) -> str:
    """Return a picture as an address that holds it."""
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode()).decode()}"
