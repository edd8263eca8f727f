"""Runs side by side as a person sees them: tables, sentences, files, pictures."""

import csv
import io
import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.reading.batch_file import demo_text
from dryingsim.explore.compare import compare
from dryingsim.explore.vary import vary, vary_batches
from dryingsim.judge.energy import read_price
from dryingsim.judge.findings import Finding
from dryingsim.judge.grades import GRADES
from dryingsim.judge.taking_off import held_activity, ready_levels
from dryingsim.show.compare.files import comparison_csv, comparison_document, write_comparison
from dryingsim.show.compare.pictures import comparison_figure
from dryingsim.show.compare.text import comparison_sentences, comparison_tables
from dryingsim.show.core.document import Document
from dryingsim.show.core.quantities import clock, spoken
from dryingsim.show.core.tables import CAUTION, plain
from dryingsim.show.core.terminal import plain_text, print_document
from dryingsim.show.lethality.text import HEADLINES
from dryingsim.show.lethality.words import MEANINGS

pytestmark = pytest.mark.usefixtures("coarse_steps")


class Terminal(io.StringIO):
    def isatty(self):
        return True


PRICE = read_price("price", "0.30 EUR/kWh")


def thick(millimetres):
    batch = warm_air()
    meat = replace(batch.meat, classes=(ds.ThicknessClass(thickness_m=1e-3 * millimetres, share=1.0),))
    return replace(batch, meat=meat, stages=(replace(batch.stages[0], duration_s=7200.0),))


@pytest.fixture(scope="module")
def comparison():
    return compare([in_stack(7.0), replace(warm_air(), name="given <air>")], price=PRICE)


@pytest.fixture(scope="module")
def variation():
    values = ["2 mm", "3 mm", "6 mm"]
    return vary_batches("meat.thickness", values, [thick(float(value.split()[0])) for value in values])


@pytest.fixture(scope="module", params=["comparison", "variation"])
def runs(request):
    return request.getfixturevalue(request.param)


def cells(runs, name, units="metric"):
    columns = [column for table in comparison_tables(runs, units) for column in table.columns]
    return next(c.cells for c in columns if " ".join(part for part in c.heading[:2] if part) == name)


# ---- tables and sentences


@pytest.mark.parametrize("units", ["metric", "us"])
def test_tables_fit_a_screen_and_have_a_row_per_run(runs, units):
    tables = comparison_tables(runs, units)
    assert max(map(len, plain(tables).splitlines())) <= 80
    for table in tables:
        assert {len(column.cells) for column in table.columns} == {len(runs.measures["done_s"])}
        assert table.columns[0].cells == tables[0].columns[0].cells


def test_a_terminal_shows_every_cell_of_the_widest_tables(comparison, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "80")
    shown = comparison_tables(comparison)
    out = Terminal()
    print_document(Document("Side by side", shown), file=out)
    text = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue())
    assert max(map(len, text.splitlines())) <= 80
    assert all(cell in text for table in shown for column in table.columns for cell in column.cells)


def test_numbers_are_the_measures_in_the_units_asked_for(comparison):
    found = comparison.measures
    assert cells(comparison, "done") == [clock(value) for value in found["done_s"]]
    assert cells(comparison, "to") == [clock(value) for value in found["done_latest_s"]]
    kelvin = found["first_hour_meat_K"]
    assert [float(c) for c in cells(comparison, "meat at 1 h")] == pytest.approx(kelvin - 273.15, abs=0.51)
    fahrenheit = [float(c) for c in cells(comparison, "meat at 1 h", "us")]
    assert fahrenheit == pytest.approx(32.0 + 1.8 * (kelvin - 273.15), abs=0.51)
    assert [float(c) for c in cells(comparison, "weight")] == pytest.approx(
        1e3 * found["weight_kg"], abs=0.51
    )
    energy, nothing = cells(comparison, "energy to done")
    assert float(energy) == pytest.approx(found["energy_J"][0] / 3.6e6, abs=0.0051)
    assert nothing == "-"
    per_kg, per_lb = (float(cells(comparison, "per water", units)[0]) for units in ("metric", "us"))
    assert per_lb == pytest.approx(
        3.6e6 / 2326.0 * per_kg, abs=0.05 * 1548.0 + 0.5
    )  # kWh/kg to 0.1, Btu/lb to 1
    assert float(cells(comparison, "cost")[0]) == pytest.approx(found["cost"][0], abs=0.0051)


def test_labels_stand_below_and_values_in_front(comparison, variation):
    assert f"2  {comparison.labels[1]}" in plain(comparison_tables(comparison))
    assert comparison_tables(variation)[0].columns[0].cells == ["2 mm", "3 mm", "6 mm"]
    assert "Varied: thickness." in plain(comparison_tables(variation))


def test_runs_in_a_warning_are_told_apart_though_titles_hold_commas(comparison):
    warned = [
        replace(run, lethality=replace(run.lethality, warnings=(Finding("species_fish"),)))
        for run in comparison.runs
    ]
    several = replace(comparison, labels=("Friday, thick", "Friday, thin"), runs=tuple(warned))
    said = " ".join(plain_text(comparison_document(several)).split())
    assert "SAFETY Friday, thick; Friday, thin: " in said


def test_columns_without_anything_are_left_out(variation):
    text = plain(comparison_tables(variation))
    assert not re.search("energy|kWh|cost|trays", text.split("Varied")[0])


def test_the_reduction_is_a_column_per_organism_with_its_grade(comparison, variation):
    for runs in (comparison, variation):
        (table,) = (t for t in comparison_tables(runs) if any("O157:H7" in c.heading for c in t.columns))
        at = next(i for i, column in enumerate(table.columns) if "O157:H7" in column.heading)
        bands, grades = (column.cells for column in table.columns[at : at + 2])
        found = runs.measures
        assert grades == [list(GRADES)[int(place)] for place in found["e_coli_grade"]]
        for band, low, mid in zip(bands, found["e_coli_counted"], found["e_coli_best"], strict=True):
            low, mid = (min(value, 7.0) for value in (low, mid))
            first, *rest = band.replace("+", "").split("-")
            assert float(first) == pytest.approx(
                low, abs=1e-9
            )  # rounded down, as a run prints what it counts
            assert float(rest[0] if rest else first) == pytest.approx(mid, abs=0.051)
    text = " ".join(plain(comparison_tables(variation)).split())
    assert all(f"{grade} - {meaning}" in text for grade, meaning in MEANINGS.items())


def test_many_logs_are_written_short_and_nothing_as_a_dash(variation):
    changed = {
        "e_coli_counted": np.array([np.nan, 7.0, 0.0]),
        "e_coli_best": np.array([np.nan, 99.0, 12.0]),
    }
    changed["e_coli_grade"] = np.array([np.nan, 4.0, 2.0])
    table = comparison_tables(replace(variation, measures=variation.measures | changed))[-1]
    at = next(i for i, column in enumerate(table.columns) if "O157:H7" in column.heading)
    assert table.columns[at].cells == ["-", "7+", "0.0-7+"]
    assert table.columns[at + 1].cells == ["-", "met", "not shown"]


def test_sentences_give_the_verdict_on_each_batch_or_group_of_values(comparison, variation):
    text = " ".join(comparison_sentences(comparison))
    for number, (label, one) in enumerate(zip(comparison.labels, comparison.runs, strict=True), start=1):
        assert f"{number} ({label}): {HEADLINES[one.lethality.grade]}: {one.lethality.worst.name}" in text
    grades = np.array([1.0, 4.0, 1.0])
    text = comparison_sentences(replace(variation, measures=variation.measures | {"grade": grades}))[-1]
    assert (
        f"{HEADLINES['below target']}: thickness 2 mm, thickness 6 mm. {HEADLINES['met']}: thickness 3 mm."
        in text
    )
    assert "L. monocytogenes: " in text


def test_sentences_name_first_last_and_those_not_done(comparison, variation):
    text = " ".join(comparison_sentences(comparison))
    times = comparison.measures["done_s"]
    assert f"Done first: 2 (given <air>), after {spoken(times[1])}." in text
    assert f"Done last: 1 ({comparison.labels[0]}), after {spoken(times[0])}." in text
    assert "Least energy" not in text  # one alone has an appliance
    text = " ".join(comparison_sentences(variation))
    assert f"Done first: thickness 2 mm, after {spoken(variation.measures['done_s'][0])}." in text
    assert "Not done when the run ends: thickness 6 mm." in text


def test_least_energy_is_named_with_its_cost(comparison):
    measures = comparison.measures | {"energy_J": np.array([7.2e6, 3.6e6]), "cost": np.array([0.6, 0.3])}
    text = " ".join(comparison_sentences(replace(comparison, measures=measures)))
    assert "takes 2 (given <air>) with 1.00 kWh for 0.30 EUR, most 1 (" in text
    assert "with 2.00 kWh for 0.60 EUR." in text


def test_what_could_not_be_run_is_not_called_not_done(variation):
    measures = {name: values.copy() for name, values in variation.measures.items()}
    for values in measures.values():
        values[2] = np.nan
    text = " ".join(comparison_sentences(replace(variation, measures=measures)))
    assert "Not done" not in text


def test_the_caution_is_there_and_nothing_is_called_safe(runs):
    text = plain_text(comparison_document(runs), details=True)
    assert CAUTION in " ".join(text.split())
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
    assert max(map(len, text.splitlines())) <= 80


# ---- files


def test_csv_is_the_measures_in_si(runs):
    rows = list(csv.DictReader(io.StringIO(comparison_csv(runs))))
    assert len(rows) == len(runs.measures["done_s"])
    for name, values in runs.measures.items():
        column = f"cost_{runs.currency}" if name == "cost" and runs.currency else name
        if name.endswith("grade"):
            assert [row[column] for row in rows] == [list(GRADES)[int(value)] for value in values], name
            continue
        got = [float(row[column] or "nan") for row in rows]
        np.testing.assert_allclose(got, values, rtol=1e-9, err_msg=name)  # ten digits


def test_csv_names_what_was_varied(comparison, variation):
    assert comparison_csv(comparison).startswith("label,done_s,")
    assert comparison_csv(variation).startswith("meat.thickness,done_s,")
    assert "\n2 mm," in comparison_csv(variation)
    assert ",cost_EUR," in comparison_csv(comparison)


def test_json_says_the_same_with_null_for_nothing(comparison, variation):
    data = comparison_document(comparison).data()
    assert data["caution"] == CAUTION
    assert data["currency"] == "EUR"
    assert [one["label"] for one in data["runs"]] == list(comparison.labels)
    assert data["runs"][0]["done_s"] == comparison.measures["done_s"][0]
    assert data["runs"][1]["energy_J"] is None
    assert data["runs"][1]["grade"] == comparison.runs[1].lethality.grade
    data = comparison_document(variation).data()
    assert (data["varied"], data["batch"]) == ("meat.thickness", warm_air().name)
    assert data["runs"][2] | {"label": "6 mm", "done_s": None} == data["runs"][2]


def test_files_are_written_the_same_every_time(variation, tmp_path):
    for kind in ("png", "svg"):
        names = ["comparison.csv", "comparison.json", f"comparison.{kind}"]
        for folder in (tmp_path / "new", tmp_path / "again"):
            assert write_comparison(variation, folder, pictures=kind) == [folder / name for name in names]
            assert sorted(path.name for path in folder.iterdir()) == names
        for name in names:
            assert (tmp_path / "new" / name).read_bytes() == (tmp_path / "again" / name).read_bytes()


# ---- pictures


def titled(sheet):
    return {axes.get_title(loc="left"): axes for axes in sheet.axes}


def test_runs_share_the_time_axis_and_are_named_once(comparison):
    sheet = comparison_figure(comparison, "us")
    assert len(sheet.axes) == 4
    assert len({axes.get_xlim() for axes in sheet.axes}) == 1
    assert sheet.axes[0].get_xlim() == (0.0, 7.0)
    for axes in sheet.axes:
        assert re.fullmatch(r".+ \(.+\)", axes.get_ylabel())
    (legend,) = sheet.legends
    assert [text.get_text() for text in legend.get_texts()] == [
        f"1  {comparison.labels[0]}",
        "2  given <air>",
    ]
    dry, energy = (
        titled(sheet)[name] for name in ("Wettest slices, evened out; dot: done", "Energy since the start")
    )
    history = comparison.runs[0].history
    drawn = [line for line in dry.get_lines() if line.get_label().startswith("1 ")]
    shown = drawn[0].get_ydata()  # until the last slices are off
    np.testing.assert_allclose(shown, held_activity(history).max(axis=1)[: len(shown)])
    assert shown[-1] == pytest.approx(ready_levels([history.batch])[0])
    assert len(energy.get_lines()) == 1  # given air takes none
    assert energy.get_lines()[0].get_ydata()[-1] == pytest.approx(
        comparison.measures["run_energy_J"][0] / 3.6e6
    )


def test_without_an_appliance_there_is_no_panel_for_energy():
    batch = thick(2)
    sheet = comparison_figure(compare([batch, replace(batch, name="again")]))
    assert len(sheet.axes) == 3
    assert "Energy since the start" not in titled(sheet)


def test_measures_are_drawn_over_what_is_varied(variation):
    sheet = comparison_figure(variation)
    assert {axes.get_xlabel() for axes in sheet.axes} == {"", "meat.thickness (mm)"}
    when = next(axes for title, axes in titled(sheet).items() if title.startswith("Done"))
    done = when.get_lines()[-1]
    np.testing.assert_array_equal(done.get_xdata(), [2.0, 3.0, 6.0])
    np.testing.assert_allclose(done.get_ydata(), variation.measures["done_s"] / 3600.0)


def test_words_are_drawn_side_by_side(variation):
    words = replace(variation, values=("thin", "middle", "thick"), numbers=None, unit="")
    axes = comparison_figure(words).axes[-1]
    assert [label.get_text() for label in axes.get_xticklabels()] == ["thin", "middle", "thick"]
    assert axes.get_xlabel() == "meat.thickness"


def test_no_label_is_a_formula_for_a_spreadsheet():
    from dryingsim.show.core.writing import csv_text

    text = csv_text(["label", "=A1"], [["=cmd|' /C calc'!A0", "-1.5"], ["@SUM(1)", "+2"], ["-3 K", "1e5"]])
    heading, *rows = csv.reader(io.StringIO(text))
    assert heading == ["label", "'=A1"]
    assert rows == [["'=cmd|' /C calc'!A0", "-1.5"], ["'@SUM(1)", "+2"], ["'-3 K", "1e5"]]


def test_of_what_is_varied_too_it_is_told_what_to_do_first_where_it_is_not_met(tmp_path):
    (tmp_path / "b.toml").write_text(demo_text(), encoding="utf-8")
    varied = vary(tmp_path / "b.toml", "meat.thickness", ["1.5 mm", "2 mm", "5 mm", "7 mm"])
    told = " ".join(plain_text(comparison_document(varied)).split())
    assert "1.5 mm; 2 mm: do first: heat the slices for longer, for 5 min." in told
    assert "5 mm; 7 mm: met as heated before; 'run' tells how." in told


@pytest.mark.parametrize(
    ("inside_K", "says"),
    [
        ((344.27, 344.27), "do first: heat 50 s or more, to 71 °C inside each portion's thickest."),
        ((344.27, 353.0, 363.0), "met as heated before; 'run' tells how."),
    ],
)
def test_batches_that_are_met_by_their_heating_say_how(inside_K, says):
    heated, *drying = ds.demo_batch().stages
    batches = [
        replace(
            ds.demo_batch(),
            name=name,
            stages=(replace(heated, until=ds.Until(core_temperature_K=kelvin)), *drying),
        )
        for name, kelvin in zip("abc", inside_K, strict=False)
    ]
    told = " ".join(plain_text(comparison_document(compare(batches))).split())
    assert f"SAFETY {'; '.join(batch.name for batch in batches)}: {says}" in told
