"""Pictures of spreads and maps show what was found."""

from dataclasses import replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.explore.maps import map_over
from dryingsim.explore.spread import spread
from dryingsim.show.spread_plots import map_figure, spread_figure
from dryingsim.show.spread_text import spread_sentences, spread_table


@pytest.fixture(scope="module")
def batch():
    demo = ds.demo_batch()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=5 * 3600.0),))


@pytest.fixture(scope="module")
def found(batch):
    return spread(batch, slices=64, nodes=8)


def test_bands_are_drawn_as_they_are(found):
    dry, shares, warm, causes = spread_figure(found).axes
    line = next(one for one in dry.lines if one.get_xydata().shape[0] == found.times_s.size)
    np.testing.assert_allclose(line.get_ydata(), np.median(found.numbers["series_water_activity"], axis=1))
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


def test_a_map_over_two_parameters_has_contours(batch):
    axes = {"thickness_m": np.array([3e-3, 4e-3, 5e-3]), "air_K": np.array([333.15, 343.15])}
    mapped = map_over(batch, axes, nodes=8)
    sheet = map_figure(mapped)
    assert sheet.axes[0].get_xlabel() == "thickness (mm)"
    assert sheet.axes[0].get_ylabel() == "air (°C)"
    assert sheet.axes[1].get_ylabel() == "done after (h)"
    assert "log10" in map_figure(mapped, "cautious").axes[1].get_ylabel()


def test_a_map_over_one_parameter_is_a_line(batch):
    mapped = map_over(batch, {"thickness_m": np.array([3e-3, 4e-3])}, nodes=8)
    line = map_figure(mapped, units="us").axes[0].lines[0]
    np.testing.assert_allclose(line.get_xdata(), np.array([3e-3, 4e-3]) / 0.0254)
    np.testing.assert_allclose(line.get_ydata(), mapped.numbers["done_s"] / 3600.0)
