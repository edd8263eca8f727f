"""Checks of a lesson's tasks: they say whether an answer is right and give a hint, never the answer."""

from collections.abc import Callable, Mapping
from typing import Any, Literal

import numpy as np

from dryingsim.errors import InputError
from dryingsim.teaching.lesson_source import Lesson, read_lesson

State = Literal["open", "right", "not yet"]


class OpenError(Exception):
    """No answer was given yet."""


class MissError(Exception):
    """An answer is not right; its text is the hint."""


def near(answer: Any, expected: Any, within: float, hint: str = "") -> None:
    """Accept a number, or several, that differ from what is expected by no more than is stated.

    Parameters
    ----------
    answer : float or sequence of float
        The student's.
    expected : float or sequence of float
        In the same unit.
    within : float
        Difference accepted either way, in that unit.
    hint : str
        What helps on.

    Examples
    --------
    >>> near(30.2, 30.5, 0.5)
    """
    numbers, wanted = _numbers(answer), np.asarray(expected, dtype=float)
    if numbers.shape != wanted.shape:
        raise MissError(
            f"{wanted.size} numbers are expected, not {numbers.size}" if wanted.shape else "one number"
        )
    if not np.all(np.abs(numbers - wanted) <= within):
        raise MissError(hint or "look again")


def chosen(answer: Any, expected: str, hint: str) -> None:
    """Accept the letter of a statement.

    Parameters
    ----------
    answer : str
        The student's.
    expected : str
        The letter.
    hint : str
        What helps on.
    """
    if answer is ...:
        raise OpenError
    if str(answer).strip().lower() != expected:
        raise MissError(hint)


def holds(condition: Any, hint: str) -> None:
    """Accept what fulfils a condition.

    Parameters
    ----------
    condition : bool
    hint : str
        What helps on.
    """
    if condition is ...:
        raise OpenError
    if not np.all(condition):
        raise MissError(hint)


def once(name: str, work: Callable[[], Any]) -> Any:
    """Return what some work gives; within a notebook it is done once, however often a task is checked.

    Parameters
    ----------
    name : str
        Of the result, within the lesson.
    work : callable
        That takes long.
    """
    return work()


def _is_open(answer: Any) -> bool:
    return answer is ... or (isinstance(answer, list | tuple) and any(one is ... for one in answer))


def _noticed(answer: Any) -> Any:
    """Return an answer; of a function, one that says where it still gives `...`."""
    if not callable(answer):
        return answer

    def function(*given: Any) -> Any:
        value = answer(*given)
        if _is_open(value):
            raise OpenError
        return value

    return function


def _numbers(answer: Any) -> np.ndarray:
    if _is_open(answer):
        raise OpenError
    try:
        return np.asarray(answer, dtype=float)
    except (TypeError, ValueError):
        raise MissError(f"a number is expected, not {answer!r:.40}") from None


_TOOLS: dict[str, Callable[..., None]] = {"near": near, "chosen": chosen, "holds": holds}


class Checks:
    """The checks of a lesson within a notebook: `check(3)` looks at what task 3 asks for, and prints one line.

    Parameters
    ----------
    lesson : Lesson
    names : mapping
        What the notebook has defined, its `globals()`.

    Attributes
    ----------
    states : dict of State
        How each task stands, by its number.
    """

    def __init__(self, lesson: Lesson, names: Mapping[str, Any]) -> None:
        self.lesson, self._names = lesson, names
        self._known: dict[str, Any] = {}
        self.states: dict[int, State] = dict.fromkeys(lesson.tasks, "open")

    def __call__(self, task: int) -> None:
        """Look at a task and print how it stands.

        Parameters
        ----------
        task : int
        """
        state, hint = self.look_at(task)
        self.states[task] = state
        right = sum(one == "right" for one in self.states.values())
        tally = f" ({right} of {len(self.states)})" if state == "right" else ""
        print(f"Task {task}: {state}{tally}" + (f": {hint}" if hint else "."))

    def _once(self, name: str, work: Callable[[], Any]) -> Any:
        if name not in self._known:
            self._known[name] = work()
        return self._known[name]

    def summary(self) -> None:
        """Print how many tasks are right, and which are not: a line to hand in."""
        others = [str(task) for task, state in self.states.items() if state != "right"]
        title = self.lesson.title.partition(":")[0]
        rest = f"; to do: {', '.join(others)}" if others else ""
        print(f"{title}: {len(self.states) - len(others)} of {len(self.states)} right{rest}")

    def look_at(self, task: int) -> tuple[State, str]:
        """Return how a task stands, and a hint.

        Parameters
        ----------
        task : int
        """
        if task not in self.states:
            raise InputError(f"task {task!r}: this lesson has the tasks 1 to {len(self.states)}")
        if any(_is_open(self._names.get(name, ...)) for name in self.lesson.answered_names(task)):
            return "open", "put your answer in place of ..."
        code = compile(self.lesson.part("check", task).source, f"check of task {task}", "exec")
        answers = {name: _noticed(self._names[name]) for name in self.lesson.answered_names(task)}
        try:
            exec(code, {**self._names, **answers, **_TOOLS, "once": self._once})
        except OpenError:
            return "open", "put your answer in place of ..."
        except MissError as miss:
            return "not yet", str(miss)
        except NameError as missing:
            return "open", f"{missing}; run the cells above first"
        except Exception as error:  # whatever an answer may lead to
            return "not yet", f"your answer leads to {type(error).__name__}: {error}"
        return "right", ""


def open_lesson(name: str, names: Mapping[str, Any]) -> Checks:
    """Return the checks of a lesson; a notebook calls them `check`.

    Parameters
    ----------
    name : str
        Of the lesson, such as "a_meat_and_air".
    names : mapping
        `globals()` of the notebook.

    Examples
    --------
    >>> check = open_lesson("a_meat_and_air", {})
    >>> check(1)
    Task 1: open: put your answer in place of ...
    """
    return Checks(read_lesson(name), names)
