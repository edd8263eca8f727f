"""The ways a run can fail, each with a message meant for the person at the keyboard."""


class InputError(ValueError):
    """What a person typed cannot be used: says what is wrong, where, what was expected, and the nearest choice."""


class SolverError(RuntimeError):
    """The equations could not be advanced, or a balance did not close."""


class OutputError(RuntimeError):
    """What was worked out cannot be written or printed: a full disk, a folder that has gone."""


class Remark(UserWarning):
    """How something was taken that a person typed and that leaves room: no fault, but to be said."""


def workers_ended(times: int = 1) -> str:
    """Return what is told where processes that do the work were killed, so many times in a row."""
    often = f", {times} times in a row" if times > 1 else ""
    return (
        f"the processes that do the work were ended from outside{often}; is there memory enough? fewer --workers need "
        "less; where finished parts are kept, the same command goes on from there"
    )


def workers_lost(missing: int, of_all: int, attempt: int, most: int) -> str:
    """Return what is told where workers were lost and the work goes on: parts missing, and which attempt follows."""
    return f"workers were lost; {missing} of {of_all} parts are done again (attempt {attempt} of {most})"
