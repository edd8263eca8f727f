"""What stands on the batch sheet, and that it fits on paper."""

import re
import zlib
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air, warm_air_text

import dryingsim as ds
from dryingsim.batch.money import Amount, MeatPrice
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.kitchen.loads import loads_of
from dryingsim.show.core.document import Caution, Document, Form, Heading, Sentence
from dryingsim.show.core.pdf import PAPERS, pdf_of
from dryingsim.show.core.quantities import Units, about, clock
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.kitchen.product_text import cost_sentence, texture_sentences, yield_sentences
from dryingsim.show.run.first_screen import run_document
from dryingsim.show.run.sheet import sheet_document
from dryingsim.show.run.text import safety_of_run

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def run():
    return ds.Answer(ds.run(warm_air()))


@pytest.fixture(scope="module")
def trays():
    text = warm_air_text().replace("speed = ", "# speed = ")
    text = text.replace("[meat]", '[appliance]\nuse = "stacked dehydrator"\n[meat]', 1)
    text = text.replace('weight = "0.7 kg"', 'weight = "1.1 kg"').replace("[trays]", "[trays]\ncount = 5")
    text = text[: text.rindex("[[stage]]")] + text[text.index("# When the batch counts") :]
    return ds.Answer(ds.run(parse_batch(text, "trays"), nodes=8))


@pytest.fixture(scope="module")
def heated():
    """Heated in marinade."""
    return ds.Answer(ds.run(ds.demo_batch(), nodes=8))


def sheet_blocks(answer):
    return sheet_document(answer).blocks


def sheet_pdf(answer, units="metric"):
    return pdf_of(sheet_document(answer, units), units)


def grids(blocks):
    return [block for block in blocks if isinstance(block, Form)]


def grid_after(blocks, heading):
    place = next(i for i, b in enumerate(blocks) if isinstance(b, Heading) and b.text.startswith(heading))
    return next(block for block in blocks[place:] if isinstance(block, Form))


def drawn(pdf):
    """Yield (x, y, text) of what is written in a PDF of one-byte letters: place in points, text as it stands."""
    for one in re.findall(rb"stream\r?\n(.*?)\nendstream", pdf, re.DOTALL):
        try:
            page = zlib.decompress(one)
        except zlib.error:
            continue
        for x, y, text in re.findall(rb"(-?[\d.]+) (-?[\d.]+) Td\s+(.*?)\s+T[jJ]\s", page, re.DOTALL):
            letters = b"".join(re.findall(rb"\(((?:[^()\\]|\\.)*)\)", text))
            yield float(x), float(y), re.sub(rb"\\(.)", rb"\1", letters).decode("cp1252")


def words_of(pdf):
    return " ".join(text for *_, text in drawn(pdf))


def test_every_row_has_a_cell_for_every_heading(run, trays):
    for answer in (run, trays):
        for grid in grids(sheet_blocks(answer)):
            assert len(grid.widths) == len(grid.heads)
            assert all(len(row) == len(grid.heads) for row in grid.rows)
            assert sum(grid.widths) == pytest.approx(1.0)


def grams(answers):
    """Weight of a batch that is done, as it is printed."""
    return f"{1e3 * answers.doneness.weight_kg:.0f} g"


def test_times_to_look_are_in_order_and_have_weights(run):
    rows = grid_after(sheet_blocks(run), "When to look").rows
    clocks = [tuple(map(int, row[0].split(":"))) for row in rows]
    assert clocks == sorted(clocks)
    assert len(set(clocks)) == len(clocks)
    weights = [float(row[2].split()[0]) for row in rows]
    assert weights == sorted(weights, reverse=True)
    stop = next(row for row in rows if "STOP at this weight" in row[1])
    assert stop[2] == f"{1000.0 * run.doneness.stop.weight_kg:.0f} g"
    assert any("done as computed" in row[1] and row[2] == grams(run) for row in rows)
    assert stop[3] == "-"  # the weight tells
    assert all(row[4] == row[5] == "" for row in rows)


@pytest.mark.parametrize("take_off", ["as ready", "together"])
def test_a_sheet_tells_one_future_through_the_hot_finish_and_beyond(run, take_off):
    """No look is of a drying that went on without it, and no weight but the last reads as the one to stop at."""
    short = run.history.up_to(
        float(run.history.stage_end_s[-2]) + 360.0
    )  # of its ten minutes: not dry by then
    history = replace(short, batch=replace(run.batch, take_off=take_off))
    answer = ds.Answer(history)
    rows = grid_after(sheet_blocks(answer), "When to look").rows
    weights = [float(row[2].split()[0]) for row in rows]
    assert weights == sorted(weights, reverse=True)
    finish = [row for row in rows if "now stage 'oven" in row[1]]
    assert [row[0] for row in finish] == [clock(history.stage_end_s[-2])]
    end, last = rows[-2:]
    assert (end[0], "plan ends" in end[1]) == (clock(answer.end_s), True)
    assert "STOP at this weight" in last[1]
    assert "in the air of 'drying'" in end[1]
    assert ("nearly there" in end[1]) == (end[2] == last[2])
    assert all(row[2] != last[2] for row in rows[:-2])
    # what is told beyond the run begins where the run ends
    assert answer.weight_at(answer.end_s + 1.0) == pytest.approx(answer.weight_at(answer.end_s), rel=1e-4)
    stop, last_kg = answer.doneness.stop, history.weight_kg[-1].sum()
    assert stop.left_in_kg < last_kg
    without = ds.Answer(history.up_to(float(history.stage_end_s[-2])))
    assert (
        stop.likely_s < without.doneness.stop.likely_s - 600.0
    )  # what the finish dries off need not be dried off again
    text = plain_text(sheet_document(answer)) + plain_text(run_document(answer))
    assert ("take off what is ready" in text) == (take_off == "as ready")
    assert ("all come off together" in text) == (take_off == "together")
    assert "Half an hour more" not in plain_text(sheet_document(answer))


def test_slices_that_are_off_before_the_hot_finish_are_told_apart_from_those_it_heats(run):
    heat, history = run.heating, run.history
    thin = history.kind == heat.kind
    assert heat.kind == int(np.argmin([one.thickness_m for one in run.batch.meat.classes]))
    assert heat.off_before_s < history.stage_end_s[-2]
    assert heat.peak_s <= heat.off_before_s + 60.0  # records are a minute apart
    row = int(np.searchsorted(history.time_s, heat.peak_s))
    assert heat.peak_K == pytest.approx(float(history.temperature_K[row][:, thin].min()))
    assert heat.air_at_peak_K == pytest.approx(float(history.air_temperature_K[row, thin].max()))
    screen = " ".join(plain_text(run_document(run)).split())
    temperature = Units(run.batch).temperature.text(heat.peak_K)
    assert f"4 mm off by {about(heat.off_before_s)}, {temperature} at most." in screen
    together = ds.Answer(replace(history, batch=replace(run.batch, take_off="together"))).heating
    assert together.off_before_s is None
    assert together.peak_K > heat.peak_K + 10.0


def test_the_share_that_is_ready_never_falls_and_nothing_comes_after_the_weight_to_stop_at(run, trays):
    for answer in (run, trays):
        *before, last = grid_after(sheet_blocks(answer), "When to look").rows
        assert "STOP" in last[1]
        shares = [[int(number) for number in re.findall(r"\d+", row[3])] for row in before]
        assert len(shares) > 4
        for part in zip(*shares, strict=True):
            assert list(part) == sorted(part)


def test_a_plan_that_ends_before_the_weight_says_to_go_on(run):
    answer = ds.Answer(run.history.up_to(0.9 * run.doneness.stop.likely_s))
    rows = grid_after(sheet_blocks(answer), "When to look").rows
    (end,) = [row for row in rows if "plan ends" in row[1]]
    assert "plan ends; go on to the weight" in end[1]
    screen = plain_text(run_document(answer))
    assert re.search(r"plan ends: go on\n.* surely dry \(95 %\): stop here\n", screen)
    assert "end of the plan" not in screen


def test_meat_that_is_raw_when_the_plan_ends_makes_no_servings(run):
    answer = ds.Answer(run.history.up_to(1800.0), ds.Prices(meat=MeatPrice(20.0, "EUR")))
    screen = plain_text(run_document(answer), details=True)
    left = f"{1e3 * answer.product.finished_kg:.0f} g"
    assert f"Not dry by then: {left} left of 700 g raw meat, raw or half dried." in screen
    assert "There is nothing to portion or to pack yet" in " ".join(screen.split())
    assert "serving" not in screen
    assert "It costs 14.00 EUR (meat 14.00; energy is not counted); work" in " ".join(screen.split())
    assert "plan ends: not dry by then" in screen
    (row,) = [row for row in grid_after(sheet_blocks(answer), "When to look").rows if "plan ends" in row[1]]
    assert row[1] == "plan ends: not dry by then"


def test_each_tray_has_its_target_weight(trays):
    rows = grid_after(sheet_blocks(trays), "Target weights").rows
    assert [row[0] for row in rows] == [f"tray {n}" for n in range(1, 6)]
    for row in rows:
        assert 0.3 < float(row[3].split()[0]) / float(row[1].split()[0]) < 0.5


def columns_after(blocks, heading):
    form = grid_after(blocks, heading)
    return dict(zip(form.heads, zip(*form.rows, strict=True), strict=True))


def test_a_target_weight_says_what_is_counted_in_it(run, trays, heated):
    weight = Units(heated.batch).weight.text
    for answer in (run, trays, heated):
        columns, stops = (
            columns_after(sheet_blocks(answer), "Target weights"),
            [tray.stop for tray in answer.by_tray],
        )
        assert columns["stop at, those off counted"] == tuple(weight(stop.weight_kg) for stop in stops)
        assert columns["if all stay in"] == tuple(weight(stop.left_in_kg) for stop in stops)


def test_temperatures_to_check(run):
    rows = grid_after(sheet_blocks(run), "Temperatures").rows
    shoulds = [row[1] for row in rows]
    assert shoulds[0] == "0 °C and 100 °C"
    assert shoulds[1] == "71 °C (computed: not in this drying)"  # thin slices are off before the oven
    stay_in = ds.Answer(replace(run.history, batch=replace(run.batch, take_off="together")))
    (_, all_in), *_ = (row[:2] for row in grid_after(sheet_blocks(stay_in), "Temperatures").rows[1:])
    assert all_in.startswith("71 °C (computed: only after 4 h")
    assert {"68 °C", "135 °C"} <= set(shoulds)
    assert all(row[2] == "" for row in rows)


def test_boiling_water_is_cooler_in_the_mountains():
    text = warm_air_text().replace('# altitude = "1600 m"', 'altitude = "3000 m"').replace('"10 h"', '"1 h"')
    history = ds.run(parse_batch(text, "high"), nodes=8)
    rows = grid_after(sheet_blocks(ds.Answer(history)), "Temperatures").rows
    assert rows[0][1] == "0 °C and 90 °C"


def test_cautions_and_the_verdict_stand_on_it(run):
    told = [block.text for block in sheet_blocks(run) if isinstance(block, Sentence | Caution)]
    assert CAUTION in told
    told += [" ".join([form.heads[0], *form.rows[0]]) for form in grids(sheet_blocks(run))]
    assert any("what is required" in text for text in told)
    assert not any(re.search(r"\bsafe\b", text) for text in told)


def test_pdf_is_the_same_each_time_and_holds_every_word(run):
    pdf = sheet_pdf(run)
    assert pdf == sheet_pdf(run)
    assert b"CreationDate" not in pdf
    words = words_of(pdf)
    done = grams(run), clock(run.doneness.batch.expected_s)
    for word in ("Plan", "Record", "Finished", *done, "135 °C", "Cautions", "page 2 of 2"):
        assert word in words


def test_what_to_do_first_stands_before_the_stages_in_the_words_of_the_run(run):
    heads = [form.heads[0] for form in grids(sheet_blocks(run))]
    place = heads.index("stage") - 1
    verdict, first, *_ = safety_of_run(run, Units(run.batch))
    assert verdict.startswith("BELOW what is required")
    assert heads[place] == verdict
    rows = [row[0] for row in grids(sheet_blocks(run))[place].rows]
    assert "--apply 'heated first'" in first
    assert (
        rows[0] == "Do first: heat the slices to 71 °C throughout, as in boiling water."
    )  # paper takes no options
    assert rows[1].startswith("Plain water takes salt out, so the meat must be dried further")


def test_a_heating_that_is_not_shown_to_suffice_says_so_where_it_is_ticked_off(heated):
    def rows_of_heating(answer):
        rows = [row for grid in grids(sheet_blocks(answer)) for row in grid.rows]
        return [row for row in rows if row and row[0] == "heat the slices"]

    (told,) = rows_of_heating(heated)
    assert "NOT SHOWN" not in " ".join(told)
    thin = replace(ds.demo_batch().meat.classes[0], thickness_m=0.001, share=1.0)
    batch = replace(ds.demo_batch(), meat=replace(ds.demo_batch().meat, classes=(thin,)))
    (told,) = rows_of_heating(ds.Answer(ds.run(batch, nodes=8)))
    assert " ".join(told).count("NOT SHOWN to suffice: see above") == 1


def test_a_form_goes_on_under_the_same_heads_on_the_next_page():
    form = Form(("what", "is"), tuple((f"row {number}", "") for number in range(70)), (0.5, 0.5))
    words = words_of(pdf_of(Document("Long", [Heading("All rows"), form]), "us"))
    assert "page 2 of 2" in words
    assert words.count("what is") == 2
    assert re.findall(r"row (\d+)", words) == [str(number) for number in range(70)]


def test_everything_stays_on_the_paper(run, trays):
    for answer in (run, trays):
        for units, (width, height) in PAPERS.items():
            pdf = sheet_pdf(answer, units)
            for x, y, _ in drawn(pdf):
                assert 20.0 <= x <= width - 20.0
                assert 20.0 <= y <= height - 20.0


def test_two_pages_are_enough(run, trays, heated):
    for answer in (run, trays, heated):
        for units in PAPERS:
            assert "page 1 of 2." in words_of(sheet_pdf(answer, units))


def test_a_title_in_other_letters_is_drawn_too():
    text = warm_air_text().replace("Food lab:", "Sušené maso,").replace('"10 h"', '"10 min"')
    history = ds.run(parse_batch(text, "b"))
    assert sheet_pdf(ds.Answer(history)).startswith(b"%PDF-")


def test_a_dollar_sign_is_a_dollar_sign():
    text = warm_air_text().replace("Food lab:", "$5 and $6:").replace('"10 h"', '"10 min"')
    history = ds.run(parse_batch(text, "b"))
    assert "$5 and $6" in words_of(sheet_pdf(ds.Answer(history)))


# ---- sentences


def test_texture_in_words(run):
    first, more = texture_sentences(run)
    thin, *_, thick = (clock(window.expected_s) for window in run.doneness.classes)
    for word in ("0.85", "0.60", "estimate", f"4 mm: pliable from {thin}", f"6 mm: pliable from {thick}"):
        assert word in first
    assert f"takes the batch from {grams(run)} to" in more


def test_texture_tray_by_tray(trays):
    first, _ = texture_sentences(trays)
    assert all(f"Tray {number}: pliable from" in first for number in range(1, 6))


def test_yield_in_words(run):
    paid = ds.Answer(run.history, ds.Prices(meat=MeatPrice(20.0, "EUR"), ingredients=Amount(2.0, "EUR")))
    (first,), (second,) = yield_sentences(paid), cost_sentence(paid, Units(run.batch))
    stop = f"{1000.0 * run.doneness.stop.weight_kg:.0f} g"
    assert f"{stop} from 700 g of raw meat, 42 %" in first
    assert (
        f"It costs 16.00 EUR (meat 14.00, ingredients 2.00; energy is not counted), {16.0 / run.doneness.stop.weight_kg:.2f} EUR"
        in second
    )
    dollars = ds.Answer(run.history, ds.Prices(meat=MeatPrice(20.0, "USD")))
    assert "USD per lb" in cost_sentence(dollars, Units(run.batch, "us"))[0]
    assert cost_sentence(run, Units(run.batch)) == []
    twice = ds.Answer(run.history, loads=replace(loads_of(run.batch), count=2))
    assert yield_sentences(twice)[1].startswith("That is one load; all 2 come to")


def test_the_sheet_says_what_to_pour_together_and_minds_nitrite():
    from tests.batch.test_writing import SOAKED

    text = SOAKED.replace('"8 h"', '"10 min"').replace('garlic = "3 cloves"', '"curing salt" = "1/2 tsp"')
    answer = ds.Answer(ds.run(parse_batch(text, "b.toml"), nodes=8))
    told = " ".join(block.text for block in sheet_document(answer).blocks if isinstance(block, Sentence))
    assert "Marinade: soy sauce 128 g, brown sugar 28 g" in told
    assert (
        "Nitrite 276 ppm, ABOVE the limit of 200 ppm: do not use this recipe." in told
        or "treat it as ABOVE" in told
    )
