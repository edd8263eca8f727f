"""A batch that the trays do not hold: as many loads as it takes, each a share of it."""

import json
import math
from dataclasses import replace

import pytest
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli.main import app
from dryingsim.explore.compare import judged, measure
from dryingsim.kitchen.loading import SlicedMeat, lay_out, tray_of
from dryingsim.kitchen.loads import loads_of
from dryingsim.learn.logs import described
from dryingsim.model.surroundings import PACKING
from dryingsim.plan.trial import Many, screened, tried
from dryingsim.show.core.document import Form, Sentence
from dryingsim.show.core.quantities import clock
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.report.document import report_document
from dryingsim.show.run.first_screen import run_document
from dryingsim.show.run.sheet import sheet_document
from tests.batch.test_writing import SOAKED

INSIDE = SOAKED.replace("[room]", '[appliance]\nuse = "stacked dehydrator"\n[room]').replace(
    'speed = "1 m/s"\n', ""
)


def batch(pounds):
    return ds.parse_batch(INSIDE.replace('"1.5 lb"', f'"{pounds} lb"'), "b.toml")


def test_what_the_trays_hold_is_one_load():
    assert loads_of(batch(1.5)).count == 1
    assert loads_of(batch(1.5)).one == batch(1.5)


def test_loads_are_as_few_as_the_area_of_the_trays_allows():
    """By hand: slices of 4 and 6 mm in equal weights, 1065 kg/m3, on five trays of 260 by 260 mm covered to PACKING."""
    area = 5.0 * 0.45359237 / 1065.0 * (0.5 / 0.004 + 0.5 / 0.006)
    assert area / (5 * PACKING * 0.26**2) == pytest.approx(1.64, abs=0.02)
    assert loads_of(batch(5.0)).count == 2
    assert loads_of(batch(8.5)).count == 3  # 2.8, and what the marinade adds


def test_a_load_has_its_share_of_meat_and_marinade():
    loads = loads_of(batch(5.0))
    whole, one = loads.batch, loads.one
    assert one.meat.weight_kg == pytest.approx(2.5 * 0.45359237)
    assert one.marinade.salt_kg_kg == whole.marinade.salt_kg_kg
    assert one.marinade.soak.portions[0].weight_kg == pytest.approx(
        0.5 * whole.marinade.soak.portions[0].weight_kg
    )
    assert one.marinade.soak.cost.value == pytest.approx(0.5 * whole.marinade.soak.cost.value)
    assert loads_of(one).count == 1


def test_trays_counted_in_the_file_are_those_used():
    assert loads_of(replace(batch(1.5), trays=1)).count == 3


def test_run_tells_of_the_loads_before_anything_else(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(
        INSIDE.replace('"1.5 lb"', '"5 lb"').replace('"8 h"', '"20 min"') + '[display]\nunits = "us"\n'
    )
    said = " ".join(
        CliRunner().invoke(app, ["run", str(path), "--details", "--ingredients", "4 USD"]).stdout.split()
    )
    assert said.startswith(
        "b LOADS 2 loads of 2 lb 8 oz, one after the other, 20 min each; the last waits 20 min"
    )
    assert "2 loads: the trays of the stacked dehydrator do not hold 5 lb at once." in said
    assert "2 loads of 2 lb 8 oz" in said
    assert "about 20 min each, 40 min in all" in said
    assert "at 40.0 °F or colder" in said
    assert "of raw or half-dried meat is left of 2 lb 8 oz of each load." in said
    assert "ingredients 2.00" in said  # half of them


@pytest.fixture(scope="module")
def short():
    """A batch in two loads that are over soon."""
    return ds.parse_batch(INSIDE.replace('"1.5 lb"', '"5 lb"').replace('"8 h"', '"20 min"'), "b.toml")


@pytest.fixture(scope="module")
def answer():
    loads = loads_of(batch(5.0))
    return ds.Answer(ds.run(loads.one, nodes=8, tolerance=1e-3), loads=loads)


def test_one_weight_for_one_load_and_one_for_all_of_them(answer):
    finished, stop = answer.product.finished_kg, answer.doneness.stop.weight_kg
    assert finished == pytest.approx(stop, rel=1e-6)
    assert answer.product.loads == 2
    told = plain_text(run_document(answer, "metric"), details=True)
    assert f"Stop at {1e3 * stop:.0f} g" in told
    assert f"all 2 come to {2e3 * finished:.0f} g" in " ".join(told.split())
    assert f"Stop at {1e3 * stop:.0f} g" in repr(report_document(answer, [], "metric").blocks)
    assert any(f"{1e3 * stop:.0f} g" in row for row in forms(answer)["what for"])


def forms(answer):
    """Return the rows of the forms of a sheet, by one of their headings."""
    found = {}
    for block in sheet_document(answer, "metric").blocks:
        if isinstance(block, Form):
            found |= dict.fromkeys(block.heads, block.rows)
    return found


def test_slices_and_trays_are_counted_alike_before_a_run_and_in_it(answer):
    def laid(batch):
        meat = batch.meat
        sizes = SlicedMeat(
            composition=meat.composition,
            weight_kg=meat.weight_kg,
            thickness_m=meat.mean_thickness_m,
            length_m=meat.length_m,
            width_m=meat.width_m,
        )
        return lay_out(sizes, tray_of(batch), batch=batch)

    one = laid(answer.loads.one)
    assert (one.count, one.layout.trays) == (answer.product.pieces, answer.trays.needed)
    assert laid(answer.loads.batch).layout.loads == answer.loads.count


def test_the_sheet_has_the_loads_in_their_order(answer):
    rows = forms(answer)["off by, as computed"]
    each = answer.doneness.stop.likely_s  # until its last slices are off
    weight = f"{0.5 * answer.loads.batch.meat.weight_kg:.2f} kg"
    assert rows == (
        ("1 of 2", weight, "0:00", clock(each), "", ""),
        ("2 of 2", weight, clock(each), clock(2.0 * each), "", ""),
    )


def test_what_is_poured_together_is_told_for_all_of_the_meat(answer):
    told = " ".join(
        block.text for block in sheet_document(answer, "metric").blocks if isinstance(block, Sentence)
    )
    typed = 1e3 * answer.loads.batch.marinade.soak.portions[0].weight_kg
    assert f"Marinade for all 2 loads together: soy sauce {typed:.0f} g" in told


def test_runs_side_by_side_take_as_many_loads(short):
    numbers = measure(judged(short, None, None))
    assert numbers["loads"] == 2
    one = measure(judged(loads_of(short).one, None, None))
    assert one["loads"] == 1
    assert one["run_energy_J"] == numbers["run_energy_J"]


def test_a_plan_counts_the_time_and_the_energy_of_all_loads(short):
    together, one = tried(short, nodes=8), tried(loads_of(short).one, nodes=8)
    assert together.end_s == pytest.approx(2.0 * one.end_s)
    assert together.energy_J == pytest.approx(2.0 * one.energy_J)
    assert together.log_reductions == one.log_reductions
    quick = [screened(Many((each,), "salmonella", 0.1)) for each in (short, loads_of(short).one)]
    assert quick[0]["log_time"] - quick[1]["log_time"] == pytest.approx(math.log(2.0))
    assert quick[0]["water_activity"] == quick[1]["water_activity"]


def test_a_log_is_of_one_load(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(INSIDE.replace('"1.5 lb"', '"5 lb"'))
    assert described(path).batch.meat.weight_kg == pytest.approx(2.5 * 0.45359237)


def test_what_is_stored_is_what_all_loads_leave(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(INSIDE.replace('"1.5 lb"', '"5 lb"').replace('"8 h"', '"20 min"'))
    stored = json.loads(CliRunner().invoke(app, ["store", str(path), "--json"]).stdout)
    ran = json.loads(CliRunner().invoke(app, ["run", str(path), "--json"]).stdout)
    assert ran["loads"]["count"] == 2
    assert ran["loads"]["all_s"] == 2.0 * ran["loads"]["each_s"]
    assert stored["weight_kg"] == pytest.approx(2.0 * ran["yield"]["finished_kg"])
