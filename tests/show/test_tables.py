"""What a person reads: the table, its units, the sentences, the caution, and how it comes out where."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from made_appliance import tray_stack
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.batch.units import from_si, to_si
from dryingsim.errors import InputError
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.energy import judge_energy, read_price
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.taking_off import leaving_times, ready_levels, taken_off
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.document import Document
from dryingsim.show.core.quantities import Units, clock, spoken
from dryingsim.show.core.tables import CAUTION, plain
from dryingsim.show.core.terminal import plain_text, print_document
from dryingsim.show.lethality.text import HEADLINES, lines
from dryingsim.show.lethality.words import CAUTIONS
from dryingsim.show.run.first_screen import history_html, remedy_document, run_document
from dryingsim.show.run.tables import table_columns, table_rows, tables
from dryingsim.show.run.text import load_sentences, when_sentences

pytestmark = pytest.mark.usefixtures("coarse_steps")


def answer_sentences(answer, units=None):
    return [*when_sentences(answer, units), *load_sentences(answer, units)]


@pytest.fixture(scope="module")
def history():
    return ds.run(warm_air())


@pytest.fixture(scope="module")
def stacked():
    return ds.run(in_stack(6.5, rotate_every_s=3600.0))


@pytest.fixture(scope="module")
def unfinished():
    batch = warm_air()
    return ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=1800.0),)))


def column(history, name, units="metric"):
    (found,) = (c for c in table_columns(history, units) if " ".join(c.heading[:2]).strip() == name)
    return found


def answered(history, **changes):
    """Return the answer of a history, with something of its doneness changed."""
    answer = ds.Answer(history)
    answer.judged = replace(answer.judged, doneness=replace(answer.doneness, **changes))
    return answer


def told(history, units=None):
    """Return all that a run tells below its first screen and above."""
    return plain_text(run_document(ds.Answer(history), units), details=True)


def test_slices_that_break_as_soon_as_the_last_one_bends_do_so_at_one_time(history):
    answer = ds.Answer(history)
    batch = answer.texture.batch
    for breaks_s, said in ((14520.0, "at about 4 h only."), (18000.0, "from 4 h to 5 h.")):
        bends, breaks = (
            replace(batch.pliable, expected_s=14400.0),
            replace(batch.brittle, expected_s=breaks_s),
        )
        answer.texture = replace(answer.texture, batch=replace(batch, pliable=bends, brittle=breaks))
        assert f"All bend without breaking {said}" in plain_text(run_document(answer))


def table_text(history, units=None):
    return plain(tables(ds.Answer(history), units))


def print_table(history, units, out):
    print_document(Document(history.batch.name, tables(ds.Answer(history), units)), file=out)


class Terminal(io.StringIO):
    def isatty(self):
        return True


# ---- the table


def test_rows_begin_at_the_start_and_hold_the_end_of_each_stage(history):
    rows = table_rows(history)
    assert rows[0] == 0
    assert rows == sorted(set(rows))
    assert rows[-1] == history.time_s.size - 1
    assert set(history.stage_end_s) <= set(history.time_s[rows])


@pytest.mark.parametrize(
    ("hours", "least"),
    [(0.02, 3), (0.4, 8), (1.0, 8), (3.0, 8), (7.7, 8), (12.0, 8), (21.0, 8), (30.0, 8), (200.0, 8)],
)
def test_any_run_fits_on_a_screen(history, hours, least):
    end = 3600.0 * hours
    time = np.linspace(0.0, end, history.time_s.size)
    stretched = replace(history, time_s=time, stage_end_s=np.array([0.9 * end, end]))
    assert least <= len(table_rows(stretched)) <= 16


def test_numbers_are_those_of_the_history(history):
    rows = table_rows(history)
    # slices weigh what they weighed when they were taken off
    off, dry = taken_off(history).moisture_db, history.dry_mass_kg
    water = np.maximum(history.mean_moisture_db, off)[rows] @ dry
    weight = 1000.0 * (water + dry.sum())
    assert [float(c) for c in column(history, "weight").cells] == pytest.approx(weight, abs=0.5)
    wet = 100.0 * water / (water + dry.sum())
    assert [float(c) for c in column(history, "wet basis").cells] == pytest.approx(wet, abs=0.051)
    inside = np.array(rows)[history.time_s[rows] <= leaving_times(history)[2]]
    core = history.core_temperature_K[inside, 2] - 273.15  # 6 mm, the thickest, is the third class
    cells = column(history, "core").cells
    assert [float(c) for c in cells[: inside.size]] == pytest.approx(core, abs=0.51)
    assert set(cells[inside.size :]) == {"-"}  # the oven is hot when nothing is in it
    activity = np.maximum(history.equalised_water_activity[rows, 2], ready_levels([history.batch])[0])
    assert [float(c) for c in column(history, "a_w equil.").cells] == pytest.approx(activity, abs=0.0051)


def test_both_unit_systems_say_the_same(history):
    metric, us = column(history, "weight"), column(history, "weight", "us")
    assert (metric.heading[2], us.heading[2]) == ("g", "oz")
    # rounded to 1 g and to 0.1 oz
    for one, other in zip(metric.cells, us.cells, strict=True):
        assert to_si("x", f"{other} oz", "mass") == pytest.approx(
            to_si("x", f"{one} g", "mass"), abs=0.5e-3 + 0.05 * 0.02835
        )
    for name in ("core", "surf.", "air", "wet bulb"):
        celsius, fahrenheit = column(history, name), column(history, name, "us")
        assert (celsius.heading[2], fahrenheit.heading[2]) == ("°C", "°F")
        for one, other in zip(celsius.cells, fahrenheit.cells, strict=True):
            if "-" in (one, other):  # they have left the trays
                assert one == other
                continue
            assert to_si("x", f"{other} degF", "temperature") == pytest.approx(
                to_si("x", f"{one} degC", "temperature"), abs=0.5 + 0.5 / 1.8 + 1e-9
            )
    for name in ("time", "loss", "dry basis", "wet basis", "MPR", "a_w equil.", "a_w surf."):
        one, other = column(history, name), column(history, name, "us")
        assert (one.cells, one.heading[2].replace("kg", "lb")) == (other.cells, other.heading[2])


def test_units_follow_the_batch_file_unless_told(history):
    us = replace(history, batch=replace(history.batch, display="us"))
    assert table_text(us) == table_text(history, "us")
    assert table_text(us, "metric") == table_text(history)


def test_a_large_batch_is_weighed_in_kg_or_lb(history):
    large = replace(history, batch=replace(history.batch, meat=replace(history.batch.meat, weight_kg=40.0)))
    assert Units(large).weight.text(12.345) == "12.35 kg"
    assert Units(large, "us").weight.text(12.345) == f"{from_si(12.345, 'lb'):.2f} lb"


def test_unknown_units_are_refused(history):
    with pytest.raises(InputError, match=r"units = 'imperial': did you mean 'us'. known: 'metric', 'us'"):
        table_text(history, "imperial")


@pytest.mark.parametrize("units", ["metric", "us"])
def test_plain_text_is_aligned_and_fits(history, units):
    lines = table_text(history, units).splitlines()
    assert max(map(len, lines)) <= 80
    head, rule = lines[:3], lines[3]
    assert set(rule) == {"-", " "}
    rights = [match.end() for match in re.finditer("-+", rule)]
    for line in [head[2], *lines[4 : 4 + len(table_rows(history))]]:
        ends = [match.end() for match in re.finditer(r"\S+", line)]
        assert ends == rights  # every unit and every number ends under its column's right edge


def test_the_slowest_slices_are_the_thickest_on_the_wettest_tray(history):
    wettest = int(history.mean_moisture_db[-1].argmax())
    laid = replace(history, kind=np.array([2, 2, 2]), tray=np.array([0, 1, 2]))
    assert f"6 mm slices on tray {wettest + 1}" in " ".join(table_text(laid).split())
    assert "tray 1" not in table_text(history)
    thin = replace(history, kind=np.array([2, 0, 0]))  # thick, though drier than the thin ones
    core = history.core_temperature_K[table_rows(history), 0] - 273.15
    cells = [cell for cell in column(thin, "core").cells if cell != "-"]  # those of slices that are still in
    assert len(cells) > 5
    assert [float(c) for c in cells] == pytest.approx(core[: len(cells)], abs=0.51)


# ---- trays and energy


@pytest.mark.parametrize("units", ["metric", "us"])
def test_trays_have_tables_of_their_own_that_fit(stacked, units):
    over_time, air, done = tables(ds.Answer(stacked), units)
    assert len(over_time.columns) == 12
    assert len(air.columns[0].cells) == 4  # two trays at two times
    assert [column.cells for column in air.columns[:2]] == [
        ["1:00", "1:00", *[clock(judge_batch(stacked).doneness.batch.expected_s)] * 2],
        ["1", "2", "1", "2"],
    ]
    assert air.ends == {1, 3}
    assert len(done.columns[0].cells) == 2
    assert max(map(len, table_text(stacked, units).splitlines())) <= 80


def test_tray_numbers_are_those_of_the_history(stacked):
    _, air, done = tables(ds.Answer(stacked), "metric")
    shown = {column.heading[:2]: column.cells for column in air.columns}
    hour = int(np.abs(stacked.time_s - 3600.0).argmin())
    entering = stacked.air_temperature_K[hour, [0, 3]] - 273.15  # of the first slab of either tray
    assert [float(c) for c in shown["in", "air"][:2]] == pytest.approx(entering, abs=0.051)
    wet = stacked.air_wet_bulb_K[hour, [0, 3]] - 273.15
    assert [float(c) for c in shown["in", "wet"][:2]] == pytest.approx(wet, abs=0.051)
    wettest = stacked.equalised_water_activity[hour].reshape(2, 3).max(axis=1)
    assert [float(c) for c in shown["a_w", "equil."][:2]] == pytest.approx(wettest, abs=0.0051)
    trays = judge_trays(stacked)
    assert done.columns[2].cells == [clock(one.all_done.expected_s) for one in trays.done]


def test_a_short_run_tells_the_trays_once_and_dashes_what_is_not_reached():
    _, air, done = tables(ds.Answer(ds.run(in_stack(0.5))))
    assert air.columns[0].cells == ["0:30", "0:30"]
    assert {cell for column in done.columns[1:] for cell in column.cells} == {"-"}
    alone = replace(warm_air().meat, weight_kg=0.2)
    assert len(tables(ds.Answer(ds.run(in_stack(0.5, meat=alone))))) == 2  # one tray is the batch


def test_answers_tell_load_and_energy(stacked):
    answers = judge_batch(stacked)
    energy, trays = judge_energy(stacked, answers), judge_trays(stacked)
    paid = ds.Prices(energy=read_price("price", "0.30 EUR/kWh"))
    text = " ".join(answer_sentences(ds.Answer(stacked, paid), "metric"))
    until = energy.counted
    assert f"on 2 of the 5 trays of the tray stack, cover {100.0 * trays.cover:.0f} % of each" in text
    assert f"{spoken(trays.apart_s)} later, with the trays changing places every 1 h." in text
    assert f"takes {until.total_J / 3.6e6:.2f} kWh (heater {until.heater_J / 3.6e6:.2f}, fan" in text
    assert f"for {0.30 * until.total_J / 3.6e6:.2f} EUR" in text
    assert f"{until.per_water_J_kg / 3.6e6:.1f} kWh per kg of water" in text
    assert f"{energy.peak_heater_W:.0f} W at most. Heating it up first is not counted." in text
    assert "steam" not in text
    text = " ".join(answer_sentences(ds.Answer(stacked), "us"))
    assert f"{round(until.per_water_J_kg / 2326.0, -1):.0f} Btu per lb of water" in text
    assert "EUR" not in text
    assert max(map(len, told(stacked).splitlines())) <= 80


def test_only_what_takes_energy_is_told_apart(stacked):
    totals = stacked.chamber.totals | {"fan_J": np.zeros_like(stacked.time_s)}
    still = replace(stacked, chamber=replace(stacked.chamber, totals=totals))
    text = " ".join(answer_sentences(ds.Answer(still)))
    assert "(heater" not in text
    steamed = replace(
        stacked, chamber=replace(stacked.chamber, totals=totals | {"steam_kg": stacked.time_s * 1e-5})
    )
    assert re.search(r"kWh \(heater [\d.]+, steam [\d.]+\)", " ".join(answer_sentences(ds.Answer(steamed))))


@pytest.mark.parametrize("units", ["metric", "us"])
def test_tables_of_trays_fit_a_terminal(stacked, units, monkeypatch):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "80")
    out = Terminal()
    print_table(stacked, units, out)
    text = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue())
    assert max(map(len, text.splitlines())) <= 80
    words = text.split()
    assert all(
        cell in words
        for one in tables(ds.Answer(stacked), units)
        for part in one.columns
        for cell in part.cells
    )


def test_an_appliance_that_starts_cold_has_its_heating_counted():
    history = ds.run(in_stack(0.5, replace(tray_stack(), preheated=False)))
    text = " ".join(answer_sentences(ds.Answer(history)))
    assert "In the run the tray stack takes" in text
    assert "Heating it up first is counted." in text


# ---- where it is printed


def test_piped_output_is_plain(history):
    out = io.StringIO()
    print_table(history, "metric", out)
    assert "\x1b" not in out.getvalue()
    assert table_text(history, "metric") in out.getvalue()
    assert history.batch.name in out.getvalue()


def test_no_color_on_a_terminal_is_plain(history, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    out = Terminal()
    print_table(history, "metric", out)
    assert "\x1b" not in out.getvalue()


@pytest.mark.parametrize("width", [80, 100])
def test_a_terminal_gets_the_same_numbers_with_colour(history, monkeypatch, width):
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", str(width))
    out = Terminal()
    print_table(history, "metric", out)
    text = re.sub(r"\x1b\[[0-9;]*m", "", out.getvalue())
    assert text != out.getvalue()
    assert max(map(len, text.splitlines())) <= width
    words = text.split()
    for part in table_columns(history, "metric"):
        assert all(cell in words for cell in part.cells)


# ---- the answers


def test_answers_name_times_weight_and_heat(history):
    answers = judge_batch(history)
    done, heating = answers.doneness, answers.heating
    text = " ".join(answer_sentences(ds.Answer(history), "metric"))
    assert f"Done after about {spoken(done.batch.expected_s)}" in text
    assert "±0.04" in text
    assert spoken(done.batch.earliest_s) in text
    assert f"{1000.0 * done.weight_kg:.0f} g" in text
    assert f"{100.0 * done.weight_share:.0f} %" in text
    assert f"{heating.peak_K - 273.15:.0f} °C at most" in text
    assert f"in air of {heating.air_first_hour_K - 273.15:.0f} °C" in text
    for one, window in zip(history.batch.meat.classes, done.classes, strict=True):
        assert f"{1000.0 * one.thickness_m:g} mm after {spoken(window.expected_s)}" in text


def test_a_late_end_of_the_window_is_said_to_be_beyond_the_run():
    batch = warm_air()
    until = ds.Until(water_activity=0.85)
    history = ds.run(replace(batch, stages=(replace(batch.stages[0], until=until, duration_s=8 * 3600.0),)))
    answers = judge_batch(history)
    assert answers.doneness.batch.latest_s > history.time_s[-1]
    assert "left in beyond the end of the run" in answer_sentences(ds.Answer(history))[0]

    def told(latest_s):
        window = replace(answers.doneness.batch, latest_s=latest_s)
        return answer_sentences(answered(history, batch=window))[0]

    within = float(history.time_s[-1]) - 60.0
    assert f"and {spoken(within)}: kitchens" in told(within)
    assert "to far beyond the end of the run" in told(None)


def test_the_weight_to_stop_at_is_told_with_its_certainty(history):
    answers = judge_batch(history)
    stop = answers.doneness.stop
    text = " ".join(answer_sentences(ds.Answer(history), "metric"))
    assert f"Stop at {1000.0 * stop.weight_kg:.0f} g, likely after {spoken(stop.likely_s)}" in text
    assert "at or below 0.85 with 95 % certainty" in text
    none = answered(history, stop=replace(stop, weight_kg=None))
    assert "measure the water activity itself" in " ".join(answer_sentences(none))
    assert "No weight in reach is surely dry" in plain_text(run_document(none))
    salty = answered(history, salt_step_share=0.34)
    assert "34 % of the time hangs on it" in " ".join(answer_sentences(salty))


def test_a_batch_that_is_not_done_is_not_given_a_weight(unfinished):
    text = " ".join(answer_sentences(ds.Answer(unfinished)))
    assert text.startswith("Not done when the run ends, after 30 min")
    assert f"{unfinished.equalised_water_activity[-1].max():.2f}" in text
    assert "The trays then hold" not in text


def test_a_batch_that_may_be_done_is_told_when_and_which_slices_are():
    batch = warm_air()
    history = ds.run(replace(batch, stages=(replace(batch.stages[0], duration_s=3.8 * 3600.0),)))
    done = judge_batch(history).doneness
    assert done.batch.expected_s is None
    text = answer_sentences(ds.Answer(history))[0]
    assert f"may be there from {spoken(done.batch.earliest_s)} on" in text
    assert f"4 mm after {spoken(done.classes[0].expected_s)}" in text
    assert "6 mm not in this run" in text


def test_one_thickness_is_not_listed_again(history):
    meat = history.batch.meat
    batch = replace(
        history.batch,
        meat=replace(meat, classes=(replace(meat.classes[0], share=1.0),)),
        stages=(history.batch.stages[0],),
    )
    alone = ds.run(batch)
    assert "Each on its own" not in told(alone)


def test_the_caution_is_always_there_and_nothing_is_called_safe(history, unfinished):
    for one in (history, unfinished):
        texts = (told(one), re.sub("<[^>]+>", " ", history_html(one)))
        for text in texts:
            assert CAUTION in " ".join(text.split())
            assert HEADLINES[judge_batch_lethality(one).grade] in " ".join(text.split())
            assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
    for words in (
        "validates no process",
        "checked thermometer",
        "food-safety authority",
        "process authority",
    ):
        assert words in CAUTION


@pytest.mark.parametrize("units", ["metric", "us"])
def test_reductions_are_judged_after_the_answers_and_cautioned_once(history, units):
    text = " ".join(told(history, units).split())
    judged = judge_batch_lethality(history)
    assert f"LOG REDUCTION OF BACTERIA {' '.join(lines(judged, Units(history, units)))}" in text
    assert text.index(answer_sentences(ds.Answer(history), units)[-1]) < text.index("LOG REDUCTION")
    assert text.endswith(CAUTION)
    assert text.count(CAUTIONS[0]) == 1


def test_changes_are_told_after_a_word_on_the_cautions(history):
    base = Remedy(name="as it is", history=history, gains={})
    gone = Remedy(name="thinner", gains={}, problem="why not")
    first, _, second = plain_text(remedy_document([base, gone])).splitlines()
    assert "cautions hold" in first
    assert second == "Thinner: cannot be simulated; why not."


def test_answers_fit_eighty_columns(history):
    assert max(map(len, told(history, "us").splitlines())) <= 80


# ---- notebooks


def test_html_holds_every_cell_and_escapes_names(history):
    odd = replace(history, batch=replace(history.batch, name="<b>5 & 6 mm</b>"))
    page = odd._repr_html_()
    assert "<h4>&lt;b&gt;5 &amp; 6 mm&lt;/b&gt;</h4>" in page
    document = run_document(ds.Answer(history))
    shown = [*document.blocks, *(part for block in document.blocks for part in getattr(block, "blocks", ()))]
    cells = [cell for block in shown for column in getattr(block, "columns", ()) for cell in column.cells]
    assert len(cells) > len(table_rows(history)) * len(table_columns(history))
    set_cells = re.findall(r'<td>(.*?)</td>|<th scope="row">(.*?)</th>', page)
    assert sorted(cell or head for cell, head in set_cells) == sorted(cells)
    assert page.count("<details>") == page.count("<summary>") > 3


def test_html_has_all_tables(stacked):
    assert (
        stacked._repr_html_().count("<table>") == 5
    )  # that of the first screen and that of regular looks too


def test_repr_says_what_it_is(history):
    assert repr(history).startswith("<History of 'Food lab")
    assert f"{history.time_s[-1] / 3600.0:.2f} h" in repr(history)


# ---- times in words


@pytest.mark.parametrize(
    ("seconds", "short", "words"),
    [
        (0.0, "0:00", "0 min"),
        (29.0, "0:00", "0 min"),
        (3599.0, "1:00", "1 h"),
        (90061.0, "25:01", "25 h 1 min"),
    ],
)
def test_times_are_rounded_to_the_minute(seconds, short, words):
    assert (clock(seconds), spoken(seconds)) == (short, words)
