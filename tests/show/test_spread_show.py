"""Pictures of spreads show what was found."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

from dryingsim.explore.spread import spread
from dryingsim.show.spread.pictures import spread_figure
from dryingsim.show.spread.text import spread_sentences, spread_table


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=5 * 3600.0),))


@pytest.fixture(scope="module")
def found(batch):
    return spread(batch, slices=64, nodes=8)


def test_bands_are_drawn_as_they_are(found):
    dry, shares, warm, causes = spread_figure(found).axes
    line = next(one for one in dry.lines if one.get_xydata().shape[0] == found.times_s.size)
    np.testing.assert_array_equal(line.get_ydata(), found.bands("water_activity", (0.5,))[0])
    assert shares.get_ylim() == (0.0, 1.0)
    assert "°C" in warm.get_ylabel()
    widths = [bar.get_width() for bar in causes.patches]
    assert widths[-1] == pytest.approx(next(iter(found.influences().values())))


def test_us_units_are_drawn(found):
    assert "°F" in spread_figure(found, "us").axes[2].get_ylabel()
    assert spread_table(found, "us").columns[4].heading[2] == "°F"


def test_sentences_tell_the_numbers(found):
    text = " ".join(spread_sentences(found))
    assert f"{found.in_batch} slices" in text
    assert f"{100 * found.slowest_misses().value:.0f} %" in text
