"""The air of a log, and weights beside it: how fast it moves over the slices, and from when on they count."""

from dataclasses import replace

import numpy as np
import pytest

from dryingsim import demo_batch
from dryingsim.learn.fitted_slice import Weights
from dryingsim.learn.logged_air import speed_of


def test_the_speed_is_that_of_drying_air_not_of_the_liquid_before():
    batch = demo_batch()  # its slices are heated in liquid first, until a condition: no air moves there
    assert batch.stages[0].kind == "marinade"
    assert batch.stages[0].air.speed_m_s == 0.0
    assert speed_of(batch) == batch.stages[1].air.speed_m_s == pytest.approx(1.0)


def test_of_several_drying_stages_the_longest_tells():
    drying = replace(demo_batch().stages[1], until=None, duration_s=3600.0)
    longer = replace(drying, duration_s=7200.0, air=replace(drying.air, speed_m_s=0.4))
    rest = replace(drying, kind="rest", duration_s=36000.0)
    assert speed_of(replace(demo_batch(), stages=(drying, longer, rest))) == pytest.approx(0.4)


def test_weights_count_from_the_trays_on():
    weights = Weights(time_s=np.array([0.0, 900.0, 4500.0]), share=np.array([1.0, 0.9, 0.45]))
    since = weights.since(600.0)
    assert since.time_s.tolist() == [300.0, 3900.0]
    assert since.share.tolist() == [1.0, 0.5]
    assert weights.since(1000.0) is None  # one weight tells nothing
    assert weights.since(0.0).share.tolist() == weights.share.tolist()
