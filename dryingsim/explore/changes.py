"""What moves the answer: the batch run again with one thing changed at a time, a little up and a little down.

How much is changed follows how well each thing is known. Only what is said of the time, the weight and the log
reduction of the whole plan stays; the plan itself is not made longer for a slower batch, so that it may not be done in it.

What counts are the differences from the unchanged batch, run with the same numerics: these are coarser than those of a
run by itself, whose time until done they miss by half a percent, the same way in every run.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

from dryingsim.batch.learned import moved
from dryingsim.batch.schema import Batch
from dryingsim.engine.executors import Workers, results_of
from dryingsim.errors import InputError, SolverError
from dryingsim.judge.doneness import Answers, judge_batch
from dryingsim.judge.grades import Lethality
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.model.build import law_of
from dryingsim.properties.diffusivity import LABORATORY_SPREAD, multiplied
from dryingsim.simulate import run


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A run with one thing changed.

    Attributes
    ----------
    subject, change : str
        What, and how.
    why : str
        Why by so much.
    end_s : float
        When its plan ends [s].
    answers : Answers or None
        None where it could not be simulated.
    lethality : Lethality or None
        Of the whole plan, without the limits that a search would find.
    """

    subject: str
    change: str
    why: str
    end_s: float
    answers: Answers | None
    lethality: Lethality | None

    @property
    def done_s(self) -> float | None:
        """When the batch is done [s]; None where it is not in its plan."""
        return self.answers.doneness.batch.expected_s if self.answers else None


@dataclass(frozen=True, slots=True)
class _Task:
    """A run with one thing changed, to be done; `faster` multiplies the diffusivity."""

    subject: str
    change: str
    why: str
    batch: Batch
    faster: float = 1.0


def small_changes(batch: Batch, *, executor: Workers = None) -> list[Changed]:
    """Run a batch as it is, and then with one thing changed at a time: always less of it, then more.

    Parameters
    ----------
    batch : Batch
    executor : Executor, or a callable that makes one, optional
        See `dryingsim.engine.executors.each`. The result does not depend on it.

    Returns
    -------
    list of Changed
        First the batch unchanged, with the same numerics.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> unchanged, slower, *_ = small_changes(demo_batch())
    >>> slower.change, slower.done_s > 1.5 * unchanged.done_s
    ('half as fast', True)
    """
    return results_of(_changed, _tasks(batch), executor)


def _tasks(batch: Batch) -> list[_Task]:
    """What is run: the batch as it is, then each thing changed, less of it and more."""
    slow, fast = LABORATORY_SPREAD
    meat, why = "water moving through the meat", "the spread between laboratories"
    half_again = (("a third less", 2.0 / 3.0), ("half as much again", 1.5))
    edits: list[tuple[str, str, tuple[tuple[str, float], ...], Callable[[Batch, float], Batch]]] = [
        ("thickness of the slices", "estimate: slicing by hand", (("10 % less", 0.9), ("10 % more", 1.1)), _thickness),
        ("temperature of the air", "estimate: a household thermostat", (("3 K (5.4 °F) less", -3.0), ("3 K (5.4 °F) more", 3.0)),
         lambda meant, kelvin: moved(meant, setpoint_K=kelvin)),
        # the film goes by the root of the speed
        ("speed of the air", "estimate: rarely measured", half_again, lambda meant, factor: moved(meant, film=factor**0.5)),
    ]  # fmt: skip
    if batch.appliance is not None:
        edits.append(
            ("exchange of air with the room", "estimate: rarely measured", half_again,
             lambda meant, factor: moved(meant, air_exchange=factor))
        )  # fmt: skip
    return [
        _Task("as it is", "", "", batch),
        _Task(meat, _times(slow), why, batch, slow),
        _Task(meat, _times(fast), why, batch, fast),
        *(
            _Task(subject, words, reason, edit(batch, amount))
            for subject, reason, ways, edit in edits
            for words, amount in ways
        ),
    ]


def _times(factor: float) -> str:
    return {0.5: "half as fast", 2.0: "twice as fast"}.get(factor, f"{factor:g} times as fast")


def _changed(task: _Task) -> Changed:
    law = multiplied(law_of(task.batch), task.faster)
    end_s, answers, lethality = 0.0, None, None
    try:
        history = run(task.batch, nodes=16, tolerance=5e-3, diffusivity=law)
    except (InputError, SolverError):  # such as an end that is not reached in three days
        pass
    else:
        end_s, answers = float(history.time_s[-1]), judge_batch(history)
        lethality = judge_batch_lethality(history, limits=False)
    return Changed(
        subject=task.subject, change=task.change, why=task.why, end_s=end_s, answers=answers, lethality=lethality
    )  # fmt: skip


def _thickness(batch: Batch, factor: float) -> Batch:
    """As many slices, each thicker or thinner: their area stays."""
    meat = batch.meat
    classes = tuple(replace(kind, thickness_m=factor * kind.thickness_m) for kind in meat.classes)
    return replace(batch, meat=replace(meat, classes=classes, weight_kg=factor * meat.weight_kg))
