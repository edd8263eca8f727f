"""For a class: lessons whose tasks check themselves, and the few helpers that keep their code short.

A lesson is one file, `examples/lessons/NAME.py`; `dryingsim examples --class` makes of it a notebook for students, one for the
teacher with the answers, and a page of either. In a notebook:

>>> from dryingsim.teaching import curves, lab_batch
>>> import dryingsim as ds
>>> c = curves(ds.run(lab_batch(duration="1 h")))
>>> round(c.at(c.core_C, minutes=30), 0)
41.0

`lab_batch` is the class's batch with one thing changed, `curves` what happens to it over time in everyday units, `lines` a
picture in the package's style, `diffusivity_law` and `sorption_law` make laws of functions that students write, and `open_lesson`
finds the checks of a lesson's tasks.
"""

from dryingsim.teaching.checks import Checks, open_lesson
from dryingsim.teaching.class_curves import Curves, curves, ready_hours
from dryingsim.teaching.class_lab import (
    counted_reductions,
    example_batch,
    keeping_days,
    lab_batch,
    lab_schedule,
    recipe_in,
    shared_table,
)
from dryingsim.teaching.sketches import lines
from dryingsim.teaching.written_laws import diffusivity_law, sorption_law

__all__ = [
    "Checks",
    "Curves",
    "counted_reductions",
    "curves",
    "diffusivity_law",
    "example_batch",
    "keeping_days",
    "lab_batch",
    "lab_schedule",
    "lines",
    "open_lesson",
    "ready_hours",
    "recipe_in",
    "shared_table",
    "sorption_law",
]
