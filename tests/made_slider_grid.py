"""A small grid over the settings of the demonstration without its heating, for the tests that share it."""

import math
from dataclasses import fields, replace
from functools import cache

import numpy as np
from made_batch import warm_air

import dryingsim as ds
from dryingsim.explore.settings import Axis, at_start, axes_of
from dryingsim.explore.slider_errors import errors_of, leave_out
from dryingsim.explore.slider_grid import Levels, SliderGrid, slider_grid

# dry and cool to humid and hot: from what does hardly anything to bacteria to what does enough if it is measured
AXES = (
    Axis("thickness_m", np.array([4e-3, 6e-3])),
    Axis("air_K", np.array([325.15, 348.15])),
    Axis("relative_humidity", np.array([0.04, 0.25, 0.59])),
    Axis("speed_m_s", np.array([0.5, 2.0])),
)


@cache
def small_grid():
    """Return the grid."""
    return slider_grid(warm_air(), axes=AXES)


@cache
def full_size_grid():
    """Return a grid of as many points as a command's, with the numbers of the small one over and over: for its size alone."""
    small, axes = small_grid(), axes_of(warm_air())
    count = math.prod(axis.nodes.size for axis in axes)
    names = [field.name for field in fields(small.followed)]

    def repeated(values):
        return np.resize(values, (*values.shape[:-1], count))

    followed = replace(small.followed, **{name: repeated(getattr(small.followed, name)) for name in names})
    moisture, temperature = Levels.of(followed.moisture_db), Levels.of(followed.temperature_K)
    return SliderGrid(small.batch, axes, small.progress, small.judged, moisture, temperature, followed)


@cache
def few_left_out():
    """Return a few settings that are not in the grid."""
    return leave_out(small_grid(), count=3)


@cache
def small_errors():
    """Return what the grid is off at these."""
    return errors_of(small_grid(), few_left_out())


@cache
def start_answer():
    """Return the answer where its sliders start."""
    return ds.Answer(ds.run(at_start(warm_air(), AXES), nodes=12))
