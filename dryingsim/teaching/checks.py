"""Checks of a lesson's tasks: they say whether an answer is right and give a hint, never the answer."""

import re
import warnings
from collections.abc import Callable, Mapping
from functools import partial
from typing import Any, Literal

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.teaching.lesson_source import Lesson, read_lesson

State = Literal["open", "right", "not yet"]
_LETTER = re.compile(r"^- ([a-z]): ", re.MULTILINE)  # of a statement to choose
# what the right number is multiplied by, and what added to it, by a slip of units; what is said of it
_SLIPS = (
    (0.01, 0.0, "100 times too small: is it asked for in per cent?"),
    (100.0, 0.0, "100 times too large: is a fraction asked for, not per cent?"),
    (1.0, ZERO_CELSIUS, "273.15 too large: is it in kelvin, and asked for in °C?"),
    (1.0, -ZERO_CELSIUS, "273.15 too small: is it in °C, and asked for in kelvin?"),
)


class OpenError(Exception):
    """No answer was given yet."""


class MissError(Exception):
    """An answer is not right; its text is the hint."""


def near(answer: Any, expected: Any, within: float, hint: str = "") -> None:
    """Accept a number, or several, that differ from what is expected by no more than is stated.

    An array of one number is that number. A slip of units is said in place of the hint.

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
    if numbers.size == wanted.size == 1:
        numbers, wanted = numbers.reshape(()), wanted.reshape(())
    if numbers.shape != wanted.shape:
        raise MissError(
            f"{wanted.size} numbers are expected, not {numbers.size}" if wanted.shape else "one number"
        )
    if not np.all(np.abs(numbers - wanted) <= within):
        raise MissError(_slip(numbers, wanted, within) or hint or "look again")


def _slip(numbers: np.ndarray, wanted: np.ndarray, within: float) -> str:
    """Say what turned the right numbers into the wrong ones, if that can be told; else nothing."""
    if np.isnan(numbers).any():
        return "nan is not a number: something was not there, not reached, or divided by zero"
    off = np.abs(numbers - wanted) > within
    for factor, added, words in _SLIPS:
        undone = (numbers - added) / factor
        apart = np.abs(factor * wanted + added - wanted)
        tells = apart > 10.0 * within * max(factor, 1.0)  # nearer, and chance might get there
        if np.all(tells & (np.abs(undone - wanted) <= within), where=off):
            return words
    return ""


def chosen(answer: Any, expected: str, hint: str, letters: tuple[str, ...] = ()) -> None:
    """Accept the letter of a statement.

    Parameters
    ----------
    answer : str
        The student's.
    expected : str
        The letter.
    hint : str
        What helps on.
    letters : tuple of str
        Those of all statements, where they are known.
    """
    if answer is ...:
        raise OpenError
    among = f", one of {', '.join(letters)}" if letters else ""
    letter = answer.strip().lower() if isinstance(answer, str) else ""
    if not letter or (letters and letter not in letters):
        raise MissError(f"a letter is expected{among}, not {answer!r:.40}")
    if letter != expected:
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
        """Look at a task and print how it stands; returns nothing.

        Parameters
        ----------
        task : int
        """
        state, hint = self.look_at(task)
        self.states[task] = state
        right = sum(one == "right" for one in self.states.values())
        tally = f" ({right} of {len(self.states)})" if state == "right" else ""
        print(f"Task {task}: {state}{tally}" + (f": {hint}" if hint else "."))

    def _tools(self, task: int) -> dict[str, Callable[..., Any]]:
        """What the code of a check calls."""
        letters = tuple(_LETTER.findall(self.lesson.part("task", task).source))
        return {"near": near, "chosen": partial(chosen, letters=letters), "holds": holds, "once": self._once}

    def _once(self, name: str, work: Callable[[], Any]) -> Any:
        if name not in self._known:
            self._known[name] = work()
        return self._known[name]

    def summary(self) -> None:
        """Print how many tasks are right, and which are not: a line to hand in; returns nothing."""
        others = [str(task) for task, state in self.states.items() if state != "right"]
        title = self.lesson.title.partition(":")[0]
        rest = f"; to do: {', '.join(others)}" if others else ""
        print(f"{title}: {len(self.states) - len(others)} of {len(self.states)} right{rest}")

    def look_at(self, task: int) -> tuple[State, str]:
        """Return how a task stands, and a hint.

        Parameters
        ----------
        task : int

        Returns
        -------
        (str, str)
            "open", "right" or "not yet"; the hint, empty where it is right.
        """
        if task not in self.states:
            raise InputError(f"task {task!r}: this lesson has the tasks 1 to {len(self.states)}")
        if any(_is_open(self._names.get(name, ...)) for name in self.lesson.answered_names(task)):
            return "open", "put your answer in place of ..."
        code = compile(self.lesson.part("check", task).source, f"check of task {task}", "exec")
        answers = {name: _noticed(self._names[name]) for name in self.lesson.answered_names(task)}
        try:
            with warnings.catch_warnings():  # laws are tried out on purpose; the hint says what is wrong
                warnings.simplefilter("ignore", UserWarning)
                exec(code, {**self._names, **answers, **self._tools(task)})
        except OpenError:
            return "open", "put your answer in place of ..."
        except MissError as miss:
            return "not yet", str(miss)
        except NameError as missing:
            return "open", f"{missing}; run the cells above first"
        except Exception as error:  # whatever an answer may lead to
            several = [
                name for name, answer in answers.items() if isinstance(answer, list | dict | np.ndarray)
            ]
            if several and isinstance(error, TypeError) and "unhashable" in str(error):
                return "not yet", f"one name is expected as {several[0]}, not {answers[several[0]]!r:.40}"
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

    Returns
    -------
    Checks
        `check(3)` prints one line on task 3, `check.summary()` one on all.

    Examples
    --------
    >>> check = open_lesson("a_meat_and_air", {})
    >>> check(1)
    Task 1: open: put your answer in place of ...
    """
    return Checks(read_lesson(name), names)
