"""Writing files whole: nobody ever sees half of one, and a failure leaves the old one; and what goes into them.

Each file is written beside its place and then renamed.
"""

import csv
import errno
import io
import json
import os
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dryingsim._version import __version__
from dryingsim.batch.checks import check_choice
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from matplotlib.figure import Figure

PICTURE_KINDS = ("png", "svg")  # the first unless another is asked for
_DPI = 110  # 1100 x 704 dots
_COMPRESSION = 3  # of 9: a fiftieth larger than at the usual 6, in two thirds of the time
_BEGIN_FORMULAS = ("=", "+", "-", "@", "\t", "\r")  # some words for spreadsheets


def write_whole(path: Path, content: bytes | None) -> Path:
    """Write beside the file, then rename; without content only try whether that can be done."""
    beside = _beside(path)
    try:
        beside.write_bytes(content or b"")
        if content is not None:
            beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    return path


def write_set(directory: Path, contents: Mapping[str, bytes], gone: Iterable[str] = ()) -> list[Path]:
    """Write the files of one result: all of them beside their places, and only then all renamed.

    A disk that fills up, or a process that is stopped, so leaves the earlier result whole: there are never new numbers
    beside old pictures.

    Parameters
    ----------
    directory : Path
        Must exist.
    contents : mapping of bytes
        By the files' names.
    gone : iterable of str
        Names of files of an earlier result that this one does not have; they are removed.
    """
    written = [directory / name for name in contents]
    beside = [_beside(path) for path in written]
    for path in written:  # a rename can fail for nothing else once the file beside it is written
        if path.is_dir():
            raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path))
    try:
        for path, content in zip(beside, contents.values(), strict=True):
            path.write_bytes(content)
        for path, place in zip(beside, written, strict=True):
            path.replace(place)
        for name in set(gone) - set(contents):
            (directory / name).unlink(missing_ok=True)
    finally:
        for path in beside:
            path.unlink(missing_ok=True)
    return written


def _beside(path: Path) -> Path:
    return path.with_name(f".{path.name[:40]}.{os.getpid()}.part")  # a name may be as long as names can be


def prepare_directory(directory: Path) -> None:
    """Make the directory if it is missing; raise `InputError` unless files can be written there."""
    try:
        directory.mkdir(parents=True, exist_ok=True)
        write_whole(directory / "history.csv", None)
    except FileExistsError:
        raise InputError(f"{directory} is a file; a folder for the results is expected") from None
    except OSError as error:
        raise InputError(f"{directory} cannot be written to ({error.strerror or error})") from None


def try_directory(directory: Path) -> None:
    """Raise `InputError` unless files can be written there; what is missing of it is not left behind."""
    missing = [path for path in (directory, *directory.parents) if not os.path.lexists(path)]
    try:
        prepare_directory(directory)
    finally:
        for path in missing:
            with suppress(OSError):  # never made, or something else has been put there
                path.rmdir()


def json_text(data: dict[str, Any]) -> str:
    """Return plain values as JSON text."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def write_result(
    directory: Path,
    data: Mapping[str, bytes],
    sheets: "Mapping[str, Callable[[], Figure] | None]",
    made: Mapping[str, Any],
    kind: str,
) -> list[Path]:
    """Write data and pictures of one result, all or none; return the files.

    A picture of an earlier result that this one does not have, or has as a file of the other kind, is removed: beside
    new numbers it would be taken for theirs.

    Parameters
    ----------
    directory : Path
        Made if it is missing.
    data : mapping of bytes
        By the files' names.
    sheets : mapping of callables
        What draws each picture, by its file's name without the ending; None for one that this result does not have.
    made : mapping
        Where the numbers come from, as `history.provenance.attributes` says it.
    kind : str
        Of the pictures: "png" or "svg".
    """
    check_choice("pictures", kind, PICTURE_KINDS)
    prepare_directory(directory)
    drawn = {f"{name}.{kind}": picture(draw, made, kind) for name, draw in sheets.items() if draw}
    known = [f"{name}.{any_kind}" for name in sheets for any_kind in PICTURE_KINDS]
    return write_set(directory, {**data, **drawn}, gone=known)


def picture(draw: "Callable[[], Figure]", made: Mapping[str, Any], kind: str) -> bytes:
    """Draw a sheet; return it as a file of a kind.

    Parameters
    ----------
    draw : callable
        Draws it.
    made : mapping
        Where its numbers come from, as `history.provenance.attributes` says it; it goes into the picture as metadata.
    kind : str
        "png" or "svg".
    """
    from dryingsim.show.core.style import own_settings  # slow to import

    said = {"Title": str(made["title"]), "Description": json_text(dict(made))}
    program, content = f"dryingsim {__version__}", io.BytesIO()
    with own_settings():
        sheet = draw()  # `savefig` would draw it twice to lay it out
        if kind == "svg":
            from matplotlib.backends.backend_svg import FigureCanvasSVG

            FigureCanvasSVG(sheet).print_svg(content, metadata={**said, "Date": None, "Creator": program})
        else:
            from matplotlib.backends.backend_agg import FigureCanvasAgg

            sheet.set_dpi(_DPI)
            FigureCanvasAgg(sheet).print_png(
                content, metadata={**said, "Software": program}, pil_kwargs={"compress_level": _COMPRESSION}
            )
    return content.getvalue()


def csv_text(heading: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    r"""Return a table as CSV text; what was typed stays words, whatever it begins with.

    Parameters
    ----------
    heading : iterable of str
    rows : iterable of iterables of str
        Numbers are given as text already.

    Examples
    --------
    >>> csv_text(["label", "loss"], [["=1+1", "-0.5"]])
    "label,loss\n'=1+1,-0.5\n"
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(map(_words, heading))
    writer.writerows(map(_words, row) for row in rows)
    return text.getvalue()


def _words(cell: str) -> str:
    """Return a cell that no spreadsheet calculates: an apostrophe before what would begin a formula, but for numbers."""
    if not cell.startswith(_BEGIN_FORMULAS):
        return cell
    try:
        float(cell)
    except ValueError:
        return f"'{cell}"
    return cell
