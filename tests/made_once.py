"""Runs of batches and of slices made once, for tests of what is said of them: many ask for the same, simulated alike."""

import pickle
import pydoc
from dataclasses import fields, replace

import numpy as np

from dryingsim import simulate
from dryingsim.engine import ensemble
from dryingsim.explore import spread

_MOST = 48  # that are kept, the latest asked for; a run is a megabyte or two
_WORK = ensemble.work


def once(function):
    """Return a function that is called the first time only; what it returned then is returned ever after."""
    returned = []

    def again(*arguments, **settings):
        if not returned:
            returned.append(function(*arguments, **settings))
        return returned[0]

    return again


class _Made:
    """A run that was made before, in the place of `simulate._Run`."""

    def __init__(self, history):
        self._history = history

    def history(self):
        return self._history


class _Chunks:
    """What `ensemble.work` returned, by its task; in another process it is that function itself."""

    def __init__(self):
        self._kept = {}

    def __call__(self, task):
        asked = pickle.dumps(task)
        if asked not in self._kept:
            while len(self._kept) >= _MOST:
                self._kept.pop(next(iter(self._kept)))
            self._kept[asked] = _WORK(task)
        else:
            self._kept[asked] = self._kept.pop(asked)  # the latest asked for stay longest
        return {name: values.copy() for name, values in self._kept[asked].items()}

    def __reduce__(self):
        return pydoc.locate, ("dryingsim.engine.ensemble.work",)


class KeptRuns:
    """Histories by all that `simulate.run` is asked for, and chunks of slices; what differs in anything is run anew."""

    def __init__(self):
        self._kept, self._asked, self._chunks = {}, None, _Chunks()

    def put_into(self, patch):
        """Let runs be handed out that were made before, while a patch lasts."""
        begin, run = simulate.surroundings_of, simulate._Run

        def surroundings_of(batch, nodes, tolerance):
            self._asked = nodes, tolerance
            return begin(batch, nodes, tolerance)

        def kept(batch, surroundings, interval_s, headway):
            same = replace(batch, learned=None), repr(batch.learned)  # which holds a dictionary
            asked = *same, *self._asked, interval_s, simulate.SHORTEST_MEAN_STEP_S
            if asked not in self._kept:
                while len(self._kept) >= _MOST:
                    self._kept.pop(next(iter(self._kept)))
                self._kept[asked] = _unchangeable(run(batch, surroundings, interval_s, headway).history())
            else:
                self._kept[asked] = self._kept.pop(asked)
            return _Made(replace(self._kept[asked], batch=batch))

        for module in (ensemble, spread):
            patch.setattr(module, "work", self._chunks)
        patch.setattr(simulate, "surroundings_of", surroundings_of)
        patch.setattr(simulate, "_Run", kept)


def _unchangeable(history):
    """Return the same, its arrays locked: whoever changes one finds out."""
    for part in (history, history.chamber):
        for field in fields(part) if part is not None else ():
            value = getattr(part, field.name)
            for array in value.values() if isinstance(value, dict) else (value,):
                if isinstance(array, np.ndarray):
                    array.setflags(write=False)
    return history
