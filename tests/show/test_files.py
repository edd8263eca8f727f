"""Result files: they parse, agree with the history, are the same every time, and are never half-written."""

import csv
import errno
import io
import json
import re
import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack
from matplotlib.figure import Figure

import dryingsim as ds
from dryingsim.errors import InputError
from dryingsim.history.columns import history_columns
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.energy import read_price
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core import writing
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.writing import prepare_directory, try_directory, write_result, write_set
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.words import CAUTIONS, MEANINGS, home_advice
from dryingsim.show.run import data, files
from dryingsim.show.run.files import write_results

DATA_FILES = ("history.csv", "summary.json")
PICTURE_FILES = ("drying.png", "lethality.png")

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def history():
    return ds.run(warm_air())


@pytest.fixture(scope="module")
def stacked():
    return ds.run(in_stack(6.5, rotate_every_s=3600.0))


@pytest.fixture(scope="module")
def folder(history, tmp_path_factory):
    folder = tmp_path_factory.mktemp("results") / "new" / "demo"
    written = write_results(ds.Answer(history), folder)
    assert written == [folder / name for name in (*DATA_FILES, *PICTURE_FILES)]
    return folder


@pytest.fixture(scope="module")
def table(folder):
    with (folder / "history.csv").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    return {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}


def test_nothing_but_the_results_is_there(folder):
    assert sorted(path.name for path in folder.iterdir()) == sorted((*DATA_FILES, *PICTURE_FILES))


def test_csv_columns_are_the_history(history, table):
    expected = {
        "time_s": history.time_s,
        "stage": history.stage + 1,
        "weight_kg": history.weight_kg.sum(axis=1),
        "weight_loss": history.weight_loss,
        "moisture_db": history.batch_moisture_db,
        "moisture_protein_ratio": history.moisture_protein_ratio,
        "class_1_thickness_m": history.thickness_m[:, 0],
        "class_2_equalised_water_activity": history.equalised_water_activity[:, 1],
        "class_3_core_temperature_K": history.core_temperature_K[:, 2],
        "class_3_upper_water_activity": history.surface_water_activity[:, 1, 2],
        "class_3_air_wet_bulb_K": history.air_wet_bulb_K[:, 2],
    }
    for name, values in expected.items():
        np.testing.assert_allclose(table[name], values, rtol=1e-9, atol=1e-300, err_msg=name)  # ten digits


def test_csv_columns_agree_with_each_other(table):
    np.testing.assert_allclose(
        sum(table[f"class_{k}_weight_kg"] for k in (1, 2, 3)), table["weight_kg"], rtol=1e-9
    )
    np.testing.assert_allclose(
        table["moisture_wb"], table["moisture_db"] / (1.0 + table["moisture_db"]), rtol=1e-9
    )
    assert not any(np.isnan(values).any() for values in table.values())


def test_csv_names_the_tray_where_there_are_several(history):
    laid = replace(history, kind=np.array([1, 1, 2]), tray=np.array([0, 1, 1]))
    head = files.history_csv(laid).splitlines()[0].split(",")
    assert {"tray_1_class_2_weight_kg", "tray_2_class_2_weight_kg", "tray_2_class_3_weight_kg"} <= set(head)
    assert len(head) == len(set(head)) == len(files.history_csv(history).splitlines()[0].split(","))


def test_summary_is_the_answers_in_si(history, folder):
    summary = json.loads((folder / "summary.json").read_text(encoding="utf-8"))
    answers = judge_batch(history)
    assert summary["batch"] == history.batch.name
    assert summary["caution"] == CAUTION
    assert summary["done"]["batch"]["expected_s"] == answers.doneness.batch.expected_s
    assert summary["done"]["batch"]["latest_s"] == answers.doneness.batch.latest_s
    assert summary["done"]["stop"]["weight_kg"] == answers.doneness.stop.weight_kg
    assert [one["thickness_m"] for one in summary["done"]["classes"]] == [0.004, 0.005, 0.006]
    assert summary["heating"]["peak_K"] == answers.heating.peak_K
    assert [stage["end_s"] for stage in summary["stages"]] == list(history.stage_end_s)
    assert summary["end"]["weight_kg"] == pytest.approx(history.weight_kg[-1].sum())
    closure = {"water": history.water_closure, "energy": history.energy_closure}
    assert summary["closure"] == closure | {"appliance_water": None, "appliance_energy": None}
    assert summary["trays"] is summary["energy"] is None
    assert summary["solver"]["steps"] == history.statistics.steps
    assert summary["versions"]["dryingsim"] == ds.__version__
    assert set(data.summary(ds.Answer(history))) == set(summary)
    for key in summary:
        assert re.search(rf"^ *{key} :", data.summary.__doc__, re.MULTILINE)  # every key is documented


def test_summary_holds_the_judgement_on_reductions(history, folder):
    found = json.loads((folder / "summary.json").read_text(encoding="utf-8"))["lethality"]
    judged = judge_batch_lethality(history)
    assert (found["grade"], found["limits"]) == (judged.grade, judged.worst.organism)
    assert found["meaning"] == MEANINGS[judged.grade]
    assert found["cautions"] == list(CAUTIONS)
    for got, one in zip(found["organisms"], judged.organisms, strict=True):
        for name in (
            "organism",
            "grade",
            "lower",
            "best",
            "heat_lower",
            "drying_share",
            "probability",
            "target",
        ):
            assert got[name] == getattr(one, name)
        assert got["flags"] == [sentence(flag) for flag in one.flags]
        assert got["least_reduced_place"]["thickness_m"] == judged.slab_thickness_m[one.slab]
        assert (got["least_reduced_place"]["node"], got["least_reduced_place"]["nodes"]) == (
            one.node,
            history.slabs.nodes.size,
        )
    assert found["federal_table"]["fraction"] == judged.table.fraction
    assert found["federal_table"]["rule"]["version"] == judged.table.rule.version
    assert [one["upper"] for one in found["growth"]] == [one.upper for one in judged.growth]
    assert found["home_advice"]["asked_K"] == judged.advice.asked_K
    assert found["home_advice"]["text"] == home_advice(judged.advice)


def test_worst_places_are_on_trays_counted_from_one(stacked):
    found = data.summary(ds.Answer(stacked))["lethality"]
    for got, one in zip(found["organisms"], judge_batch_lethality(stacked).organisms, strict=True):
        assert got["least_reduced_place"]["tray"] == stacked.tray[one.slab] + 1


def test_remedies_stand_in_the_summary_if_asked_for(history):
    base = Remedy(name="as it is", history=history, gains={})
    judged = judge_batch_lethality(history)
    tried = replace(
        base,
        name="oven after",
        lethality=judged,
        extra_s=60.0,
        done_shift_s=-5.0,
        gains={"e_coli": (1.0, 2.0)},
    )
    gone = Remedy(name="thinner", gains={}, problem="why not")
    assert data.summary(ds.Answer(history))["remedies"] is None
    got, failed = data.summary(ds.Answer(history), [base, tried, gone])["remedies"]
    assert (got["name"], got["extra_s"], got["done_s"], got["done_shift_s"]) == (
        "oven after",
        60.0,
        None,
        -5.0,
    )
    assert got["gains"] == {"e_coli": {"lower": 1.0, "best": 2.0}}
    assert (got["lethality"]["grade"], got["problem"]) == (judged.grade, None)
    assert (failed["lethality"], failed["problem"]) == (None, "why not")


def test_an_appliance_adds_its_columns(stacked):
    rows = list(csv.DictReader(io.StringIO(files.history_csv(stacked))))
    got = {name: np.array([float(row[name]) for row in rows]) for name in rows[0]}
    chamber = stacked.chamber
    expected = {
        "tray_2_place": stacked.place[:, 3] + 1,
        "air_0_temperature_K": chamber.cell_temperature_K[:, 0],
        "air_2_humidity_ratio": chamber.cell_humidity_ratio[:, 2],
        "shell_temperature_K": chamber.shell_K,
        "floor_temperature_K": chamber.floor_K,
        **chamber.totals,
    }
    for name, values in expected.items():
        np.testing.assert_allclose(got[name], values, rtol=1e-9, atol=1e-300, err_msg=name)  # ten digits
    assert set(got["tray_2_place"]) == {1.0, 2.0}
    # power times the time since the row before adds up to the energy; the energy is known to ten digits
    added = np.sum(got["heater_power_W"][1:] * np.diff(got["time_s"]))
    assert added == pytest.approx(chamber.totals["heater_J"][-1], rel=1e-8)
    words = history_columns.__doc__.replace(",", " ").replace(";", " ").split()
    assert set(chamber.totals) <= set(words)


def test_an_appliance_adds_trays_and_energy_to_the_summary(stacked):
    found = data.summary(ds.Answer(stacked, ds.Prices(energy=read_price("price", "0.30 EUR/kWh"))))
    assert found["trays"]["appliance"] == "tray stack"
    assert (found["trays"]["used"], found["trays"]["slots"]) == (2, 5)
    assert max(tray["all_done"]["expected_s"] for tray in found["trays"]["done"]) == pytest.approx(
        found["done"]["batch"]["expected_s"]
    )
    assert found["energy"]["currency"] == "EUR"
    assert found["energy"]["run"]["heater_J"] == pytest.approx(stacked.chamber.totals["heater_J"][-1])
    assert found["energy"]["until_done"]["total_J"] < found["energy"]["run"]["total_J"]
    assert found["closure"]["appliance_energy"] == stacked.chamber.energy_closure


def test_an_appliance_adds_a_picture(stacked, tmp_path, monkeypatch):
    drawn = []
    monkeypatch.setattr(
        writing, "picture", lambda draw, made, kind: drawn.append(len(draw().axes)) or kind.encode()
    )
    written = write_results(ds.Answer(stacked), tmp_path)
    assert [path.name for path in written] == [*DATA_FILES, *PICTURE_FILES, "trays.png"]
    assert drawn == [3, 5, 3]  # in that of kill also the axis on the right and the bar of colours


@pytest.mark.parametrize("name", PICTURE_FILES)
def test_pictures_are_pictures(folder, name):
    head = (folder / name).read_bytes()[:24]
    assert head.startswith(b"\x89PNG\r\n")
    assert struct.unpack(">II", head[16:24]) == (1100, 704)


def _sheet():
    sheet = Figure(figsize=(1.0, 1.0), layout="constrained")
    sheet.add_subplot()
    return sheet


def test_of_two_kinds_of_pictures_one_stands_beside_the_numbers(tmp_path):
    made = {"title": "a title"}
    for kind, sheets in (
        ("png", {"one": _sheet, "two": _sheet}),
        ("svg", {"one": _sheet, "two": None}),
        ("svg", {"one": _sheet, "two": _sheet}),
        ("png", {"one": None, "two": _sheet}),
    ):
        written = write_result(tmp_path, {"a.csv": kind.encode()}, sheets, made, kind)
        assert [path.name for path in written] == [
            "a.csv",
            *(f"{name}.{kind}" for name, draw in sheets.items() if draw),
        ]
        assert sorted(tmp_path.iterdir()) == sorted(written)
        begin = {"png": b"\x89PNG\r\n", "svg": b"<?xml"}[kind]
        assert all(path.read_bytes().startswith(begin) for path in written[1:])


def test_an_unknown_kind_of_picture_is_told_before_a_folder_is_made(tmp_path):
    with pytest.raises(ds.InputError, match=r"^pictures = 'sgv': did you mean 'svg'\? known: 'png', 'svg'$"):
        write_result(tmp_path / "new", {"a.csv": b""}, {}, {"title": ""}, "sgv")
    assert not list(tmp_path.iterdir())


def test_pictures_of_trays_do_not_outlive_their_run(history, stacked, tmp_path, monkeypatch):
    monkeypatch.setattr(writing, "picture", lambda draw, made, kind: b"a picture")
    (tmp_path / "mine.txt").write_text("mine")
    write_results(ds.Answer(stacked), tmp_path)
    assert (tmp_path / "trays.png").exists()
    write_results(ds.Answer(history), tmp_path)
    assert not (tmp_path / "trays.png").exists()
    assert (tmp_path / "mine.txt").read_text() == "mine"


def test_the_same_run_writes_the_same_bytes_whatever_a_persons_plot_settings(folder, tmp_path):
    import matplotlib

    again = ds.run(warm_air())
    with matplotlib.rc_context({"font.size": 30.0}):
        write_results(ds.Answer(again), tmp_path)
        assert matplotlib.rcParams["font.size"] == 30.0  # and the settings stay as they were
    for name in (*DATA_FILES, *PICTURE_FILES):
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes(), name


def test_units_are_for_the_pictures_only(history, folder, tmp_path, monkeypatch):
    def labels(draw, made, kind):  # of the sheet drawn: dots of it are another matter
        return " ".join(axes.get_ylabel() for axes in draw().axes).encode()

    monkeypatch.setattr(writing, "picture", labels)
    write_results(ds.Answer(history), tmp_path, "us")
    for name in DATA_FILES:
        assert (tmp_path / name).read_bytes() == (folder / name).read_bytes()
    for name in PICTURE_FILES:
        assert "(°F)".encode() in (tmp_path / name).read_bytes()
        assert "(°C)".encode() not in (tmp_path / name).read_bytes()


def test_a_run_that_is_not_done_has_nulls(history, tmp_path):
    never = replace(history, batch=replace(history.batch, targets=ds.Targets(water_activity=0.2)))
    done = data.summary(ds.Answer(never))["done"]
    assert done["batch"]["expected_s"] is done["batch"]["latest_s"] is None
    assert done["weight_kg"] is None


def test_an_interrupted_write_leaves_the_old_file_and_no_scrap(history, tmp_path, monkeypatch):
    for name in DATA_FILES:
        (tmp_path / name).write_text("old")

    def interrupted(*args):
        raise KeyboardInterrupt

    monkeypatch.setattr(writing, "picture", lambda draw, made, kind: b"a picture")
    monkeypatch.setattr("pathlib.Path.replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_results(ds.Answer(history), tmp_path)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == dict.fromkeys(DATA_FILES, "old")


def test_a_full_disk_leaves_the_older_result_whole_and_no_scrap(tmp_path, monkeypatch):
    older = {"a.csv": b"old", "b.json": b"old", "c.png": b"old"}
    for name, content in older.items():
        (tmp_path / name).write_bytes(content)
    written, room = Path.write_bytes, iter([True, True])

    def until_full(path, content):
        if next(room, False):
            return written(path, content)
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(Path, "write_bytes", until_full)
    newer = {"a.csv": b"new", "b.json": b"new", "d.png": b"new"}
    with pytest.raises(OSError, match="No space left"):
        write_set(tmp_path, newer, gone=["c.png"])
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == older
    monkeypatch.undo()
    assert write_set(tmp_path, newer, gone=["c.png"]) == [tmp_path / name for name in newer]
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == newer


def test_a_folder_in_the_place_of_one_file_keeps_all_of_them_back(tmp_path):
    (tmp_path / "a.csv").write_bytes(b"old")
    (tmp_path / "b.json").mkdir()
    with pytest.raises(IsADirectoryError):
        write_set(tmp_path, {"a.csv": b"new", "b.json": b"new"})
    assert (tmp_path / "a.csv").read_bytes() == b"old"
    assert {path.name for path in tmp_path.iterdir()} == {"a.csv", "b.json"}


def test_a_file_in_the_way_is_named(tmp_path):
    path = tmp_path / "taken"
    path.write_text("mine")
    with pytest.raises(InputError, match="taken is a file; a folder"):
        prepare_directory(path)
    with pytest.raises(InputError, match="cannot be written to"):
        prepare_directory(path / "below")
    assert path.read_text() == "mine"


def test_trying_a_folder_leaves_no_trace(tmp_path):
    (tmp_path / "history.csv").write_text("old")
    prepare_directory(tmp_path)
    try_directory(tmp_path)
    try_directory(tmp_path / "a" / "b")
    with pytest.raises(InputError, match="cannot be written to"):
        try_directory(tmp_path / "history.csv" / "below")
    with pytest.raises(InputError, match="cannot be written to"):
        try_directory(tmp_path / "new" / (300 * "n"))
    assert [(path.name, path.read_text()) for path in tmp_path.iterdir()] == [("history.csv", "old")]
