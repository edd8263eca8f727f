"""Weighings that cannot be of drying meat are one line, before anything is simulated."""

import pytest
from complaints import message_of

from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.learn.readings import check_rises


def weighed(*weights, unit="oz"):
    rows = "".join(f"{i}:00, {weight}\n" for i, weight in enumerate(weights))
    return parse_weigh_ins(f"time, weight [{unit}]\n{rows}", "a.csv")


def test_a_weight_that_rises_is_named_with_what_was_expected():
    message = message_of(check_rises, weighed(28.9, 26.5, 28.6, 20.0))
    assert message.startswith(
        "a.csv line 4: whole batch weighs 811 g (28.6 oz), more than the 751 g (26.5 oz) of line 3"
    )
    assert "less is expected" in message


@pytest.mark.parametrize(
    ("weights", "unit"), [((719, 500, 504), "g"), ((28.9, 26.5, 26.6), "oz"), ((25.0, 20.0, 20.5), "g")]
)
def test_a_rise_within_the_error_of_a_scale_is_left_to_the_fit(weights, unit):
    check_rises(weighed(*weights, unit=unit))


def test_what_is_weighed_by_itself_is_compared_with_itself():
    rows = "0:00, 300, 1\n0:00, 400, 2\n1:00, 200, 1\n1:00, 280, 2\n"
    check_rises(parse_weigh_ins(f"time, weight [g], tray\n{rows}", "a.csv"))
    rise = parse_weigh_ins(f"time, weight [g], tray\n{rows}2:00, 280, 1\n", "a.csv")
    assert "tray 1 weighs 280 g" in message_of(check_rises, rise)
