"""Weights of slices like the probed one: which log of weighings has them, and what is told of one that has not."""

from dataclasses import replace

import pytest

from dryingsim import demo_batch
from dryingsim.batch.schema import ThicknessClass
from dryingsim.errors import InputError
from dryingsim.learn.probed_weights import read_weights

MIXED = demo_batch()
EVEN = replace(MIXED, meat=replace(MIXED.meat, classes=(ThicknessClass(thickness_m=0.006, share=1.0),)))


def weights(folder, text, batch):
    path = folder / "w.csv"
    path.write_text(text, encoding="utf-8")
    return read_weights(path, batch, None)


TOGETHER = "time, weight [g]\n13:00, 500\n13:45, 400\n14:30, 350\n"
APART = 'time, weight [g], slice\n13:00, 40, "a, {0}"\n14:00, 30, "a, {0}"\n'


def test_slices_of_one_thickness_may_be_weighed_together(tmp_path):
    found = weights(tmp_path, TOGETHER, EVEN)
    assert found.time_s.tolist() == [0.0, 2700.0, 5400.0]
    assert found.share == pytest.approx([1.0, 0.8, 0.7])


def test_of_several_thicknesses_that_of_the_probed_slice_counts(tmp_path):
    assert weights(tmp_path, APART.format("6 mm"), MIXED).share.tolist() == [1.0, 0.75]
    with pytest.raises(InputError, match="slices like the probed one were not weighed twice"):
        weights(tmp_path, APART.format("4 mm"), MIXED)


def test_a_log_that_only_learning_can_use_is_told_apart(tmp_path):
    with pytest.raises(InputError) as problem:
        weights(tmp_path, TOGETHER, MIXED)
    assert str(problem.value) == (
        "w.csv: the slices are 4 mm, 5 mm, 6 mm thick and were weighed together, which does not tell of one like the probed; "
        "weigh one of 6 mm by itself, in a column 'slice' ('dryingsim learn' takes this log)"
    )
