"""A record as a file: a page of HTML, a PDF, or JSON."""

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
    from dryingsim.show.core.page import page_html

    return page_html(document, below=_FOOT).encode("utf-8")
