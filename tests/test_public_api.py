"""`import dryingsim as ds`: the names it promises, their origin, and the few lines that need them."""

import subprocess
import sys

import pytest

import dryingsim as ds
from dryingsim.batch.reading.batch_file import demo_text


@pytest.mark.parametrize("name", ds.__all__)
def test_every_promised_name_is_there_and_explained(name):
    value = getattr(ds, name)
    assert name in dir(ds)
    if name not in ("__version__", "LEAN_MEAT", "LABORATORY_SPREAD"):
        assert value.__doc__
        assert value.__module__.startswith("dryingsim")


def test_all_names_nothing_twice():
    assert len(ds.__all__) == len(set(ds.__all__))


def test_subpackages_and_their_modules_are_there_once_named():
    code = (
        "import sys, dryingsim as ds\nassert 'numpy' not in sys.modules\n"
        "assert {'properties', 'kitchen', 'show'} <= set(dir(ds))\n"
        "assert 'moist_air' in dir(ds.properties)\n"
        "assert 'dryingsim.properties.water' not in sys.modules\n"
        "print(ds.properties.moist_air.wet_bulb.__module__, hasattr(ds.properties, 'pudding'))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == ["dryingsim.properties.moist_air", "False"]


def test_lazy_names_are_the_originals():
    from dryingsim import batch, simulate
    from dryingsim.batch import schema

    assert ds.run is simulate.run
    assert ds.Batch is schema.Batch
    assert batch.__name__ == "dryingsim.batch"


def test_star_import_brings_all():
    names: dict = {}
    exec("from dryingsim import *", names)
    assert set(ds.__all__) <= set(names)


def test_unknown_names_fail_as_attributes_do():
    assert not hasattr(ds, "cook")
    with pytest.raises(AttributeError, match="module 'dryingsim' has no attribute 'cook'"):
        ds.cook  # noqa: B018
    with pytest.raises(ImportError):
        from dryingsim import cook  # noqa: F401


def test_submodules_are_still_reached_after_the_lazy_names():
    code = (
        "import dryingsim as ds\nds.run\n"
        "import dryingsim.simulate, dryingsim.cli.run\nprint(ds.run.__module__)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.strip() == "dryingsim.simulate"


def test_from_a_file_to_answers_and_results(tmp_path):

    path = tmp_path / "b.toml"
    path.write_text(demo_text(), encoding="utf-8")
    assert ds.load_batch(path) == ds.demo_batch()
    history = ds.run(ds.load_batch(path))
    answers = ds.judge_batch(history)
    assert isinstance(history, ds.History)
    assert isinstance(answers, ds.Answers)
    written = ds.write_results(ds.Answer(history), tmp_path / "out")
    assert all(file.stat().st_size > 0 for file in written)


def test_a_bad_file_raises_the_public_error(tmp_path):
    with pytest.raises(ds.InputError, match="no such file"):
        ds.load_batch(tmp_path / "none.toml")
