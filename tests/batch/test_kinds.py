"""Nouns built in Python of the wrong kind of thing are told as such, at once."""

from dataclasses import replace

import pytest
from made_batch import warm_air

import dryingsim as ds

DEMO = warm_air()


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: ds.Air(temperature_K=340.0, humidity="room", speed_m_s=1.0), "a Humidity is expected"),
        (lambda: replace(DEMO.meat, classes=(0.005,)), "a ThicknessClass is expected"),
        (lambda: replace(DEMO.meat, composition={"water": 0.7}), "a Composition is expected"),
        (lambda: ds.judge_batch_lethality(DEMO), "a History is expected"),
    ],
)
def test_the_wrong_kind_is_told(make, says):
    with pytest.raises(ds.InputError, match=says):
        make()
