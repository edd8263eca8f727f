"""A document as HTML: what is folded away is behind its title."""

from collections.abc import Sequence

from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.document import Block, Caution, Detail, Document, Form, Heading, Picture, Sentence
from dryingsim.show.core.tables import Table


def html(document: Document) -> str:
    """Return a document as HTML, for a page or a notebook."""
    return f"<h4>{escape(document.title)}</h4>{_set(document.blocks)}"


def _set(blocks: Sequence[Block]) -> str:
    return "".join(map(_block, blocks))


def _block(block: Block) -> str:
    if isinstance(block, Heading):
        return f"<h5>{escape(block.text)}</h5>"
    if isinstance(block, Sentence):
        label = f"<b>{escape(block.label)}</b> " if block.label else ""
        return f"<p>{label}{'<br>'.join(map(escape, block.text.split(chr(10))))}</p>"
    if isinstance(block, Caution):
        return f"<p><small>{escape(block.text)}</small></p>"
    if isinstance(block, Detail):
        return f"<details><summary>{escape(block.title)}</summary>{_set(block.blocks)}</details>"
    if isinstance(block, Picture):
        from dryingsim.show.report.inline_svg import inline_svg, picture_settings

        with picture_settings():
            return f"<figure>{inline_svg(block.key, block.title, block.message, block.draw)}</figure>"
    return _table(block) if isinstance(block, Table) else _form(block)


def _form(form: Form) -> str:
    head = "".join(f"<th>{escape(text)}</th>" for text in form.heads)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell) or '&nbsp;'}</td>" for cell in row) + "</tr>"
        for row in form.rows
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _table(table: Table) -> str:
    head = "".join(f"<th>{'<br>'.join(map(escape, column.heading))}</th>" for column in table.columns)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
        for row in zip(*(column.cells for column in table.columns), strict=True)
    )
    notes = "".join(f"<p><small>{escape(note)}</small></p>" for note in table.notes)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>{notes}"
