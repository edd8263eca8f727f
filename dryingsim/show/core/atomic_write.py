"""Writing files whole: nobody ever sees half of one, and a failure leaves the old one."""

import errno
import os
from collections.abc import Iterable, Mapping
from pathlib import Path


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
