"""A batch that the trays do not hold: as many loads as it takes, each a share of it."""

from dataclasses import replace

import pytest

import dryingsim as ds
from dryingsim.kitchen.loads import loads_of
from dryingsim.model.surroundings import PACKING
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
    from typer.testing import CliRunner

    from dryingsim.cli.main import app

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
    assert "That is one load; all 2 come to" in said
    assert "ingredients 2.00" in said  # half of them
