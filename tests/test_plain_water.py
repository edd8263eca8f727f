"""Slices that are heated in plain water lose their salt: what they weigh, when they are dry, how they keep, what heat does."""

from dataclasses import replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.catalog.packages import find_package
from dryingsim.explore.maps import map_file
from dryingsim.explore.spread import spread
from dryingsim.judge.stop_weight import ready_moisture
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.kitchen.packed_meat import Packing, product_of
from dryingsim.kitchen.storage import keep
from dryingsim.show.run.sheet import sheet_document
from dryingsim.show.run.tables import table_columns, table_notes


def heated_in(kind, **changes):
    demo = ds.demo_batch()
    return replace(demo, stages=(replace(demo.stages[0], kind=kind), *demo.stages[1:]), **changes)


@pytest.fixture(scope="module")
def water():
    return ds.Answer(ds.run(heated_in("water"), nodes=16))


@pytest.fixture(scope="module")
def marinade():
    return ds.Answer(ds.run(heated_in("marinade"), nodes=16))


@pytest.fixture(scope="module")
def unsalted():
    demo = heated_in("marinade")
    bare = replace(demo.marinade, salt_kg_kg=0.0, sugar_kg_kg=0.0)
    return ds.Answer(ds.run(replace(demo, marinade=bare), nodes=16))


def test_it_dries_as_meat_without_salt(water, unsalted, marinade):
    np.testing.assert_array_equal(water.history.moisture_db, unsalted.history.moisture_db)
    done = [each.doneness.batch.expected_s for each in (water, unsalted, marinade)]
    assert done[0] == done[1] > 1.3 * done[2]
    stop = [each.doneness.stop.weight_kg for each in (water, unsalted, marinade)]
    assert stop[0] == pytest.approx(stop[1])
    assert stop[0] < 0.85 * stop[2]
    assert water.serving.salt_kg == 0.0 < marinade.serving.salt_kg


def test_its_weight_before_heating_is_that_with_the_salt_in(water, unsalted, marinade):
    assert water.loaded_kg == marinade.loaded_kg == pytest.approx(0.7 * 1.027)  # 15 and 12 g/kg taken up
    assert unsalted.loaded_kg == pytest.approx(0.7)
    (loss,) = [column for column in table_columns(water.history) if column.heading[1] == "loss"]
    assert loss.cells[0] == "2.6"  # 27 of 1027
    assert "Weights are without the salt and sugar" in " ".join(table_notes(water.history))
    assert water.doneness.weight_share == pytest.approx(water.doneness.weight_kg / water.loaded_kg)
    for one, bare in zip(water.by_thickness, unsalted.by_thickness, strict=True):
        assert one.stop_share == pytest.approx(bare.stop_share / 1.027)
    (goals,) = [
        form
        for form in sheet_document(water).blocks
        if getattr(form, "heads", [""])[1:2] == ("before heating",)
    ]
    assert goals.rows[0][1] == "719 g"


def test_a_loss_of_weight_is_that_of_a_scale(water, tmp_path):
    """It was read before the water took the salt; `map` finds the same end."""
    batch = heated_in("water")
    half = replace(batch.stages[1], until=ds.Until(weight_loss=0.55))
    history = ds.run(replace(batch, stages=(batch.stages[0], half)), nodes=16)
    left = 1.0 - history.weight_kg[-1].sum() / water.loaded_kg
    assert left == pytest.approx(0.55, abs=1e-3)
    assert history.weight_loss[-1] == pytest.approx(left)
    file = tmp_path / "half.toml"
    file.write_text(history.batch.to_toml(), encoding="utf-8")
    mapped = map_file(file, ["room.temperature = 21 to 22 degC in 2"]).numbers
    assert mapped["end_s"][0] == pytest.approx(history.time_s[-1], rel=0.02)  # 16 nodes and looser steps


def test_heat_counts_as_if_all_the_salt_were_in(water, unsalted, marinade):
    """How much of it is left when the heat comes is not known: it must count for no more than in the marinade."""
    lower = [
        [one.lower for one in judge_batch_lethality(each.history).organisms]
        for each in (water, unsalted, marinade)
    ]
    for one, bare, salted in zip(*lower, strict=True):
        assert salted - 0.2 < one <= salted < bare


def test_a_map_and_a_spread_count_on_the_same(tmp_path, water, marinade):
    file = tmp_path / "batch.toml"
    lower, done = [], []
    for answer in (water, marinade):
        file.write_text(answer.batch.to_toml(), encoding="utf-8")
        mapped = map_file(file, ["stage.2.air = 68.333 to 69 degC in 2"]).numbers
        lower.append(mapped["lower"][0])
        done.append(mapped["done_s"][0])
        assert done[-1] == pytest.approx(
            answer.doneness.batch.expected_s, rel=0.02
        )  # 16 nodes and looser steps
    assert lower[0] <= lower[1]
    half = [
        np.median(spread(answer.batch, slices=96, seed=1).numbers["done_s"][1])
        for answer in (water, marinade)
    ]
    assert half[0] > 1.2 * half[1]


def test_meat_at_the_weight_to_stop_at_keeps_in_the_room(water, marinade):
    bag = Packing(
        package=find_package("package", "zip bag"),
        area_m2=0.06,
        gel_kg=0.0,
        gel_water=0.03,
        room_K=294.15,
        room_humidity=0.45,
    )
    for answer in (water, marinade):
        ready = np.full(answer.history.kind.size, ready_moisture(answer.batch))
        kept = keep(product_of(answer.history, ready), bag)
        assert kept.product.wettest == pytest.approx(answer.doneness.stop.water_activity, abs=1e-3)
        assert kept.keepings[0].days >= 7.0
