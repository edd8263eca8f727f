"""Finished chunks in a folder, so that work that was stopped goes on from there.

A file tells of which piece of work and which chunk it is and what its content hashes to: one that was cut short, altered
or put in another's place is not believed, and its chunk is done again.
"""

import hashlib
import io
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, cast

import numpy as np

from dryingsim.engine.ensemble import Numbers

_FINISHED = "finished"


class Checkpoints:
    """Finished chunks in a folder, under a name that belongs to one piece of work.

    Parameters
    ----------
    folder : Path or None
        None: nothing is put anywhere.
    what : str
        All that the work depends on.

    Attributes
    ----------
    damaged : int
        Files that `load` did not believe.
    """

    def __init__(self, folder: Path | None, what: str) -> None:
        self._folder = folder
        self._name = hashlib.sha256(what.encode()).hexdigest()[:16]
        self._there: set[int] = set()
        self.damaged = 0

    def _path(self, index: int) -> Path:
        assert self._folder is not None
        return self._folder / f"{_FINISHED}-{self._name}-{index:05d}.chunk"

    def load(self, count: int) -> Iterator[tuple[int, Numbers]]:
        """Yield what is there and whole, one after the other, with its index; `damaged` counts what was not."""
        self.damaged = 0
        for i in range(count if self._folder else 0):
            if not self._path(i).exists():
                continue
            try:
                numbers = self._unpacked(i, self._path(i).read_bytes())
            except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile):
                self.damaged += 1
                continue
            self._there.add(i)
            yield i, numbers

    def keep(self, index: int, numbers: Numbers) -> None:
        """Put a chunk into the folder, complete or not at all.

        Parameters
        ----------
        index : int
            Of the chunk.
        numbers : dict of ndarray
            As `ensemble.work` returns them.
        """
        if self._folder is None or index in self._there:
            return
        packed = io.BytesIO()
        np.savez(packed, **cast(dict[str, Any], numbers))
        content = packed.getvalue()
        path = self._path(index)
        beside = path.with_suffix(".part")
        self._folder.mkdir(parents=True, exist_ok=True)
        try:
            beside.write_bytes(self._digest(index, content) + content)
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)

    def _digest(self, index: int, content: bytes) -> bytes:
        return hashlib.sha256(f"{self._name} {index} ".encode() + content).digest()

    def _unpacked(self, index: int, stored: bytes) -> Numbers:
        """Return the numbers of a file; raise unless they are this chunk's, to the last bit."""
        length = hashlib.sha256().digest_size
        content = stored[length:]
        if stored[:length] != self._digest(index, content):
            raise ValueError("the content is not what was written")
        with np.load(io.BytesIO(content), allow_pickle=False) as data:
            return dict(data)


def forget(folder: Path) -> None:
    """Remove finished chunks from a folder, of whatever work: its results stand there now."""
    for path in folder.glob(f"{_FINISHED}-*"):
        path.unlink()
