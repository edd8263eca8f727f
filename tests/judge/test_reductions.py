"""Arrays that cannot be meat are refused, in one line."""

import numpy as np
import pytest

from dryingsim import InputError
from dryingsim.judge.reductions import judge_lethality, judge_place


def arrays(celsius=68.0, activity=0.99, shape=(61, 5, 2)):
    time = np.linspace(0.0, 3600.0, shape[0])
    return time, np.full(shape, celsius + 273.15), np.full(shape, activity)


TIME, HOT, WET = arrays()
NO_MEAT = {
    "water activity in per cent": ((TIME, HOT, 100.0 * WET), "percent"),
    "degrees Celsius": ((TIME, HOT - 273.15, WET), "kelvin"),
    "degrees Fahrenheit": ((TIME, 1.8 * HOT - 459.67, WET), "kelvin"),
    "temperature and water activity swapped": ((TIME, WET, HOT), "kelvin"),
    "nodes before times": ((TIME, HOT.transpose(1, 0, 2), WET.transpose(1, 0, 2)), "do not go together"),
    "slabs before nodes, one of them": ((TIME, *(one.transpose(0, 2, 1) for one in arrays(shape=(61, 5, 1))[1:])), "two nodes"),
    "one node only": (arrays(shape=(61, 1, 1)), "two nodes"),
    "no slabs": ((TIME, HOT[..., 0], WET[..., 0]), "two nodes"),
    "wet meat at 400 K": (arrays(400.0 - 273.15), "boiling"),
    "below absolute zero": (arrays(-300.0), "kelvin"),
    "water activity below nothing": (arrays(activity=-0.1), "fractions"),
    "times of another log": ((TIME[:-1], HOT, WET), "do not go together"),
    "no samples": ((TIME[:0], HOT[:0], WET[:0]), "do not go together"),
    "infinite": ((TIME, HOT * np.inf, WET), "not numbers"),
}  # fmt: skip


@pytest.mark.parametrize(("given", "says"), NO_MEAT.values(), ids=NO_MEAT)
def test_arrays_that_are_no_meat_are_refused_in_one_line(given, says):
    with pytest.raises(InputError, match=says) as caught:
        judge_lethality(*given, "sliced", "beef")
    assert "\n" not in str(caught.value)


def test_a_single_place_is_judged_by_its_own_function():
    time, t, a = TIME, HOT[:, 0, 0], WET[:, 0, 0]
    assert judge_place(time, t, a, "beef").grade == "met"
    for bad in ((time, HOT, WET), (time, t, 100.0 * a), (time[:-1], t, a), (time, t + 60.0, a)):
        with pytest.raises(InputError):
            judge_place(*bad, "beef")


@pytest.mark.parametrize(("activity", "flagged"), [(0.111, False), (0.106, False), (0.104, True)])
def test_drier_than_measured_only_where_it_reads_drier(activity, flagged):
    judged = judge_place(TIME, HOT[:, 0, 0], np.full(TIME.size, activity), "beef")
    assert any(flag.key == "drier_than_measured" for flag in judged.worst.flags) is flagged
