"""Files that a person typed, as text."""

import difflib
from pathlib import Path

from dryingsim.batch.checks import show
from dryingsim.errors import InputError

_ALIKE = 0.75  # names of files: more than the ending is to be the same


def read_text(path: str | Path, start: str = "", where: str = "") -> str:
    """Return the text of a file, without the byte order mark that some editors put first.

    Parameters
    ----------
    path : str or Path
    start : str
        What writes such a file to start from, for the message where there is none.
    where : str
        The place that names the file, for messages; none where it was typed on the command line.
    """
    said = f"{where} = {show(str(path))}" if where else _name(path)
    try:
        return read_bytes(path, start, where).decode("utf-8-sig").replace("\r\n", "\n").replace("\r", "\n")
    except UnicodeDecodeError as error:
        raise InputError(f"{said}: {_not_text(error)}") from None


def read_bytes(path: str | Path, start: str = "", where: str = "") -> bytes:
    """Return what a file holds.

    Parameters
    ----------
    path : str or Path
    start, where : str
        As for `read_text`.
    """
    said = f"{where} = {show(str(path))}" if where else _name(path)
    try:
        return Path(path).read_bytes()
    except FileNotFoundError:
        raise InputError(f"{said}: there is no such file{_instead(Path(path), start)}") from None
    except IsADirectoryError:
        raise InputError(f"{said}: this is a folder; a file is expected") from None
    except OSError as error:
        raise InputError(f"{said}: cannot be read ({error.strerror or error})") from None
    except ValueError:  # of a name with a zero in it
        raise InputError(f"{said}: no file can have such a name") from None


def decoded(path: str | Path, content: bytes) -> str:
    """Return a text that some device or spreadsheet wrote: UTF-8, UTF-16, or one byte a letter (Windows-1252).

    Parameters
    ----------
    path : str or Path
        For messages.
    content : bytes
    """
    zeros = content[:2000].count(b"\0")
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        encodings: tuple[str, ...] = ("utf-16",)
    elif zeros * 3 > len(content[:2000]):
        encodings = ("utf-16-le", "utf-16-be") if content[1:2] == b"\0" else ("utf-16-be", "utf-16-le")
    else:
        encodings = ("utf-8-sig", "cp1252", "latin-1")
    for encoding in encodings:
        try:
            text = content.decode(encoding)
        except UnicodeDecodeError:
            continue
        if not any(ord(letter) < 32 and letter not in "\t\n\v\f\r\x1a" for letter in text):
            return text.rstrip("\x1a")
    raise InputError(f"{_name(path)}: this is not a text file; a table of readings (CSV) is expected")


def _not_text(error: UnicodeDecodeError) -> str:
    """Say what a file is instead of a text in UTF-8, and what to do."""
    content = error.object
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "this is text in UTF-16; save it as plain text in UTF-8"
    if b"\0" in content:
        return "this is not a text file; plain text in UTF-8 is expected"
    line = content.count(b"\n", 0, error.start) + 1
    return f"line {line} has a letter that is not UTF-8, such as a degree sign of another encoding; save it as UTF-8"


def _name(path: str | Path) -> str:
    """Return the name of a file for a message; in quotes where it could not be read as a name without them."""
    name = str(path)
    return name if name.isprintable() and name == name.strip() and len(name) <= 255 else show(name)


def _instead(path: Path, start: str) -> str:
    """Return what may have been meant by the name of a file that is not there."""
    try:
        there = [one.name for one in path.parent.iterdir() if one.is_file()]
    except OSError:
        there = []
    near = difflib.get_close_matches(path.name, there, n=1, cutoff=_ALIKE)
    if near:
        return f"; did you mean '{near[0]}'?"
    plain = path.suffix.lower() == ".toml" and len(path.name.split()) == 1
    return f"; '{start}' writes one to start from" if start and plain else ""


def read_written_table(path: str | Path) -> str:
    """Return the text of a table that a device wrote or a person typed, in whatever encoding."""
    _check_table(path)
    return decoded(path, read_bytes(path))


def read_table(path: str | Path) -> str:
    """Return the text of a table of readings; a batch file given in its place is told as such."""
    _check_table(path)
    return read_text(path)


def _check_table(path: str | Path) -> None:
    if Path(path).suffix.lower() == ".toml":
        raise InputError(f"{path}: a table of readings (CSV) is expected; this is named as a batch file is")
