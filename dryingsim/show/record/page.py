"""A record as a file: a page of HTML, a PDF, or JSON."""

from dryingsim._version import __version__
from dryingsim.plain_text import html_text as escape
from dryingsim.show.core.document import Document
from dryingsim.show.core.writing import json_text

_FOOT = "A record and an estimate computed by dryingsim; it is not an approval."


def content_of(document: Document, ending: str, system: str) -> bytes:
    """Return what is written of a record.

    Parameters
    ----------
    document : Document
    ending : str
        Of the file's name: ".pdf", ".json", ".html" or ".htm".
    system : str
        "metric" or "us": which paper a PDF is for.
    """
    if ending == ".json":
        return json_text(document.data()).encode("utf-8")
    if ending == ".pdf":
        from dryingsim.show.core.pdf import pdf_of

        return pdf_of(document, system, _FOOT)
    return _page(document).encode("utf-8")


def _page(document: Document) -> str:
    from dryingsim.show.core.html import html
    from dryingsim.show.report.look import style_sheet

    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1">'
        f"<title>{escape(document.title)}</title>\n<style>{style_sheet()}</style></head>\n"
        f"<body><main>{html(document)}</main>\n"
        f"<footer><p>{escape(_FOOT)} Version {__version__}.</p></footer></body></html>\n"
    )
