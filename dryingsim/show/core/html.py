"""A document as HTML: answers as a list, pictures side by side, what is folded away behind its title."""

from collections.abc import Sequence
from itertools import groupby

from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.document import Block, Caution, Detail, Document, Form, Heading, Picture, Sentence
from dryingsim.show.core.tables import Table


def html(document: Document) -> str:
    """Return a document as HTML, for a notebook."""
    return f"<h4>{escape(document.title)}</h4>{set_html(document.blocks, 5)}"


def set_html(blocks: Sequence[Block], level: int) -> str:
    """Return blocks as HTML. `level` is that of the headings among them, 1 to 6."""
    return "".join(_together(list(group), level) for _, group in groupby(blocks, _kind))


def _kind(block: Block) -> object:
    """Return what blocks have in common that stand together; all others stand alone."""
    if isinstance(block, Sentence) and block.label:
        return "answers"
    return Picture if isinstance(block, Picture) else id(block)


def _together(blocks: Sequence[Block], level: int) -> str:
    if isinstance(blocks[0], Picture):
        from dryingsim.show.core.inline_svg import picture_settings  # slow to import

        with picture_settings():
            figures = [_figure(one, level) for one in blocks if isinstance(one, Picture)]
        return f'<div class="pictures">{"".join(figures)}</div>'
    if isinstance(blocks[0], Sentence) and blocks[0].label:
        answers = [_answer(one) for one in blocks if isinstance(one, Sentence)]
        return f'<dl class="key">{"".join(answers)}</dl>'
    return "".join(_block(one, level) for one in blocks)


def _block(block: Block, level: int) -> str:
    if isinstance(block, Heading):
        return f"<h{level}>{escape(block.text)}</h{level}>"
    if isinstance(block, Sentence):
        return f"<p>{_lines(block.text)}</p>"
    if isinstance(block, Caution):
        return f'<p class="caution">{escape(block.text)}</p>'
    if isinstance(block, Detail):
        return f"<details><summary>{escape(block.title)}</summary>{set_html(block.blocks, level)}</details>"
    return _table(block) if isinstance(block, Table) else _form(block) if isinstance(block, Form) else ""


def _lines(text: str) -> str:
    return "<br>".join(map(escape, text.split("\n")))


def _answer(sentence: Sentence) -> str:
    mark = ' class="grave"' if sentence.grave else ""
    return f"<div{mark}><dt>{escape(sentence.label)}</dt><dd>{_lines(sentence.text)}</dd></div>"


def _figure(picture: Picture, level: int) -> str:
    from dryingsim.show.core.inline_svg import inline_svg

    drawn = inline_svg(f"pic-{picture.key}", picture.title, picture.message, picture.draw)
    words = f"{picture.caption} {picture.message}".strip()
    return (
        f"<figure><h{level}>{escape(picture.title)}</h{level}>{drawn}"
        f"<figcaption>{escape(words)}</figcaption></figure>\n"
    )


def _form(form: Form) -> str:
    rows = [[escape(cell) or "&nbsp;" for cell in row] for row in form.rows]
    return _rows([escape(text) for text in form.heads], rows)


def _table(table: Table) -> str:
    """Return a table that scrolls by itself where the screen is narrow: by keys too, and under a name."""
    heads = ["<br>".join(escape(line) for line in column.heading if line) for column in table.columns]
    rows = [list(map(escape, row)) for row in zip(*(column.cells for column in table.columns), strict=True)]
    notes = "".join(f"<p><small>{escape(note)}</small></p>" for note in table.notes)
    if table.wraps:
        return _rows(heads, rows, ' class="sources"') + notes
    name = escape(table.name or f"table: {', '.join(filter(None, (c.heading[1] for c in table.columns)))}")
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{name}">{_rows(heads, rows)}</div>{notes}'
    )


def _rows(heads: Sequence[str], rows: Sequence[Sequence[str]], mark: str = "") -> str:
    top = "".join(f'<th scope="col">{text}</th>' for text in heads)
    body = "".join(
        f'<tr><th scope="row">{first}</th>{"".join(f"<td>{cell}</td>" for cell in rest)}</tr>\n'
        for first, *rest in rows
    )
    return f"<table{mark}><thead><tr>{top}</tr></thead><tbody>{body}</tbody></table>"
