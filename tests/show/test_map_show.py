"""Maps as tables, sentences, files and pictures show what was found."""

import csv
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.explore.maps import Map, map_over
from dryingsim.show.map.pictures import done_contours, map_figure
from dryingsim.show.map.text import map_csv, map_document, map_sentences, map_tables, write_map


@pytest.fixture(scope="module")
def batch():
    demo = warm_air()
    return replace(demo, stages=(replace(demo.stages[0], until=None, duration_s=5 * 3600.0),))


@pytest.fixture(scope="module")
def two(batch):
    axes = {"thickness_m": np.array([3e-3, 4e-3, 9e-3]), "air_K": np.array([333.15, 343.15])}
    return replace(map_over(batch, axes, nodes=8), units={"thickness_m": "m", "air_K": "K"})


@pytest.fixture(scope="module")
def one(batch):
    return map_over(batch, {"thickness_m": np.array([3e-3, 4e-3])}, nodes=8)


def test_contours_are_drawn_with_units_on_the_axes(two):
    done, kill = map_figure(two).axes
    assert done.get_xlabel() == "thickness_m (m)"
    assert done.get_ylabel() == "air_K (K)"
    assert "Salmonella" in kill.get_title(loc="left")
    assert any(text.get_text().endswith(" h") for text in done.texts)


def test_nothing_done_is_said_in_the_picture(two):
    never = {**two.numbers, "done_s": np.full((3, 2), np.inf), "lower": np.zeros((3, 2))}
    done, kill = map_figure(replace(two, numbers=never)).axes
    assert "nowhere done" in done.texts[0].get_text()
    assert any("0.0 all over" in text.get_text() for text in kill.texts)
    assert map_sentences(replace(two, numbers=never))[0].startswith("Nowhere")


def test_a_map_over_one_parameter_is_a_line(one):
    done, kill = map_figure(one).axes
    np.testing.assert_allclose(done.lines[0].get_ydata(), one.numbers["done_s"] / 3600.0)
    np.testing.assert_allclose(kill.lines[1].get_ydata(), one.numbers["lower"])


def test_tables_hold_the_numbers(one, two):
    (table,) = map_tables(one)
    assert [column.heading[1] for column in table.columns[1:4]] == ["done", "brittle", "reached"]
    done, kill = map_tables(two)
    assert done.columns[1].cells[2] == "-"  # not done within the five hours
    lower, best = (two.numbers[name][0, 1] for name in ("lower", "best"))
    assert kill.columns[2].cells[0] == f"{lower:.1f} | {best:.1f}"


def test_sentences_tell_the_ends_and_the_points_that_miss(two):
    text = " ".join(map_sentences(two))
    assert "thickness m 0.003 m and air K 343.1 K" in text
    assert "At 2 of 6 points it is not done" in text
    assert "are met at" in text


def test_files_hold_every_point(two, tmp_path):
    written = write_map(two, tmp_path)
    assert [path.name for path in written] == ["map.csv", "map.json", "map.png"]
    rows = list(csv.DictReader((tmp_path / "map.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == 6
    assert float(rows[1]["air_K [K]"]) == 343.15
    assert float(rows[1]["done_s"]) == pytest.approx(two.numbers["done_s"][0, 1])
    assert rows[-1]["done_s"] == ""
    data = map_document(two).data()
    assert data["done_s"][2] == [None, None]
    assert data["axes"][0] == {"parameter": "thickness_m", "unit": "m", "values": [3e-3, 4e-3, 9e-3]}
    assert map_csv(two) == (tmp_path / "map.csv").read_text(encoding="utf-8")
    assert (tmp_path / "map.png").read_bytes().startswith(b"\x89PNG")


def test_contours_of_one_parameter_are_refused():
    line = Map(None, {"air_K": np.array([330.0, 340.0])}, {}, {"done_s": np.array([1.0, 2.0])}, None, ())
    with pytest.raises(ds.InputError, match="two parameters"):
        done_contours(line, Figure().add_subplot())
