"""Files that a person typed, as text."""

from pathlib import Path

from dryingsim.errors import InputError


def read_text(path: str | Path, start: str = "") -> str:
    """Return the text of a file, without the byte order mark that some editors put first.

    Parameters
    ----------
    path : str or Path
    start : str
        What writes such a file to start from, for the message where there is none.
    """
    try:
        return Path(path).read_text(encoding="utf-8-sig")
    except FileNotFoundError:
        hint = f"; '{start}' writes one to start from" if start else ""
        raise InputError(f"{path}: there is no such file{hint}") from None
    except UnicodeDecodeError:
        raise InputError(f"{path}: this is not a text file in UTF-8") from None
    except OSError as error:
        raise InputError(f"{path}: cannot be read ({error.strerror or error})") from None


def read_table(path: str | Path) -> str:
    """Return the text of a table of readings; a batch file given in its place is told as such."""
    if Path(path).suffix.lower() == ".toml":
        raise InputError(f"{path}: a table of readings (CSV) is expected; this is named as a batch file is")
    return read_text(path)
