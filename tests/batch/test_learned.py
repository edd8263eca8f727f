"""What was learned, in a file and in the batches that name it."""

import math
from dataclasses import replace

import pytest
from made_batch import warm_air_text
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.learned import dial_K, diffusivity_factor, moved, with_learned
from dryingsim.batch.reading.batch_file import load_batch, parse_batch
from dryingsim.batch.schema import Correction, Learned
from dryingsim.batch.uncertainties import INPUTS, read_uncertainties, uncertainties_of
from dryingsim.batch.writing.learned_file import learned_toml
from dryingsim.engine.deviations import deviated
from dryingsim.errors import InputError
from dryingsim.model.build import build_slabs

DEMO = parse_batch(warm_air_text(), "demo")
LEARNED = Learned(
    logs=("a.csv", "b.csv"),
    corrections={
        "diffusivity": Correction(value=math.log(0.8), uncertainty=0.2),
        "film": Correction(value=math.log(1.1), uncertainty=0.1),
        "setpoint": Correction(value=-2.0, uncertainty=1.0),
        "moisture": Correction(value=0.004, uncertainty=0.006),
    },
)
OWN_AIR = "air as the stages say"


def written(folder, text=None, table='file = "mine.toml"'):
    (folder / "mine.toml").write_text(text or learned_toml(LEARNED, OWN_AIR, "two logs"), encoding="utf-8")
    file = folder / "batch.toml"
    file.write_text(warm_air_text() + f"\n[learned]\n{table}\n", encoding="utf-8")
    return file


def test_a_file_comes_back_as_it_went(tmp_path):
    batch = load_batch(written(tmp_path))
    assert batch.learned.logs == LEARNED.logs
    for key, one in LEARNED.corrections.items():
        found = batch.learned.corrections[key]
        assert found.value == pytest.approx(one.value, abs=1e-3)
        assert found.uncertainty == pytest.approx(one.uncertainty, abs=1e-4)


def test_a_batch_gets_what_was_learned_and_says_so(tmp_path):
    batch = load_batch(written(tmp_path))
    assert batch.name.endswith("(with learned values)")
    first = batch.stages[0].air
    assert first.temperature_K == pytest.approx(DEMO.stages[0].air.temperature_K - 2.0)
    assert first.speed_m_s == pytest.approx(1.1**2, rel=1e-3)  # the film goes with the root of the speed
    assert dial_K(batch, first) == pytest.approx(DEMO.stages[0].air.temperature_K)
    assert sum(
        getattr(batch.meat.composition, part) for part in ("water", "protein", "fat", "carbohydrate", "ash")
    ) == (pytest.approx(1.0))
    assert batch.meat.composition.water == pytest.approx(DEMO.meat.composition.water + 0.004)


def test_the_slabs_diffuse_by_what_was_learned(tmp_path):
    batch = load_batch(written(tmp_path))
    ratio = build_slabs(batch, 5).diffusivity.reference_m2_s / build_slabs(DEMO, 5).diffusivity.reference_m2_s
    assert ratio == pytest.approx(0.8, rel=1e-3) == pytest.approx(diffusivity_factor(batch), rel=1e-3)
    slower = ds.run(batch, nodes=8, tolerance=1e-3).stage_end_s[0]
    assert slower > 1.15 * ds.run(DEMO, nodes=8, tolerance=1e-3).stage_end_s[0]


def test_a_part_of_it(tmp_path):
    batch = load_batch(written(tmp_path, table='file = "mine.toml"\nuse = "meat"'))
    assert set(batch.learned.corrections) == {"diffusivity", "moisture"}
    assert batch.stages[0].air == DEMO.stages[0].air


def test_spread_takes_what_was_learned_by_its_own_measure(tmp_path):
    stated = read_uncertainties({"spread": {"film": "3 %"}}, "b.toml")
    found = uncertainties_of(replace(load_batch(written(tmp_path)), uncertainties=stated))
    assert found["diffusivity"].size == pytest.approx(0.2)
    assert found["setpoint"].size == pytest.approx(1.0)
    assert found["film"].size == pytest.approx(0.03)  # what the batch file says comes first
    assert found["thickness_between"] == INPUTS["thickness_between"].default


def test_an_appliance_moves_as_spread_moves_it():
    batch = in_stack(6)
    ours = moved(batch, setpoint_K=3.0, air_exchange=1.4)
    assert ours == deviated(batch, {"setpoint": 3.0, "air_exchange": math.log(1.4)})[0]
    faster = moved(batch, film=1.2).appliance.trays.speed_m_s
    assert faster == pytest.approx(1.44 * batch.appliance.trays.speed_m_s)


def test_nothing_learned_changes_nothing():
    assert moved(DEMO) == DEMO
    assert diffusivity_factor(DEMO) == 1.0
    empty = with_learned(DEMO, Learned(logs=(), corrections={}))
    assert replace(empty, name=DEMO.name, learned=None) == DEMO


@pytest.mark.parametrize(
    ("text", "table", "told"),
    [
        (None, "use = 3", "needs 'file'"),
        (None, 'file = "other.toml"', "there is no such file"),
        (None, 'file = "mine.toml"\nuse = "half"', "one of 'all'"),
        (learned_toml(LEARNED, "oven with fan", ""), 'file = "mine.toml"', "was learned in: oven with fan"),
        ("[corrections]\nspeed = 3\n", 'file = "mine.toml"', "has no key 'speed'"),
        (
            "[corrections]\nfilm = 1.2\n",
            'file = "mine.toml"',
            "a table of 'factor' and 'uncertainty' is expected",
        ),
        (
            '[corrections]\nfilm = { factor = 20, uncertainty = "3 %" }\n',
            'file = "mine.toml"',
            "is outside 1/8 to 8",
        ),
        (
            '[corrections]\nsetpoint = { offset = "3 m", uncertainty = "1 K" }\n',
            'file = "mine.toml"',
            "measures a length",
        ),
        (
            '[corrections]\nsetpoint = { offset = "90 K", uncertainty = "1 K" }\n',
            'file = "mine.toml"',
            "is outside",
        ),
        ("logs = 3\n", 'file = "mine.toml"', "a list of file names is expected"),
    ],
)
def test_one_clear_line(tmp_path, text, table, told):
    with pytest.raises(InputError) as error:
        load_batch(written(tmp_path, text, table))
    assert told in str(error.value)
    assert "\n" not in str(error.value)
