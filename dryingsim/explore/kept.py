"""Finished chunks kept in a folder, so that work that was stopped goes on from there."""

import hashlib
from pathlib import Path
from typing import Any, cast

import numpy as np

from dryingsim.explore.ensemble import Numbers

_FINISHED = "finished"


class Kept:
    """Finished chunks in a folder, under a name that belongs to one piece of work."""

    def __init__(self, folder: Path | None, what: str) -> None:
        self._folder = folder
        self._name = hashlib.sha256(what.encode()).hexdigest()[:16]
        self._there: set[int] = set()

    def _path(self, index: int) -> Path:
        assert self._folder is not None
        return self._folder / f"{_FINISHED}-{self._name}-{index:05d}.npz"

    def load(self, count: int) -> dict[int, Numbers]:
        """Return what is there, by index."""
        found = {}
        for i in range(count if self._folder else 0):
            if self._path(i).exists():
                with np.load(self._path(i)) as data:
                    found[i] = dict(data)
        self._there = set(found)
        return found

    def keep(self, index: int, numbers: Numbers) -> None:
        """Keep a chunk, whole or not at all."""
        if self._folder is None or index in self._there:
            return
        path = self._path(index)
        beside = path.with_suffix(".part")
        with beside.open("wb") as file:
            np.savez(file, **cast(dict[str, Any], numbers))
        beside.replace(path)


def forget(folder: Path) -> None:
    """Remove finished chunks from a folder, of whatever work: its results stand there now."""
    for path in folder.glob(f"{_FINISHED}-*"):
        path.unlink()
