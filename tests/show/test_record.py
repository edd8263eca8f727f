"""The record of a batch: all that has to stand on it, deviations with what applies, and limits of another country."""

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dryingsim.batch.catalog.critical_limits import critical_limits
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.batch.schema import Humidity, Until
from dryingsim.batch.units import to_si
from dryingsim.errors import InputError
from dryingsim.judge.findings import Finding
from dryingsim.judge.thermometer_log import read_log_file
from dryingsim.learn.fitted_log import fit_log
from dryingsim.learn.fitted_slice import Weights
from dryingsim.learn.logged_estimate import estimate
from dryingsim.learn.logs import described
from dryingsim.show.core.document import Detail, Form
from dryingsim.show.core.quantities import Units
from dryingsim.show.record.document import NO_APPROVAL, content_of, deviations, record_document
from dryingsim.show.record.measured import come_up_s
from dryingsim.show.thermometer.estimate_text import estimate_document

pytestmark = pytest.mark.usefixtures("coarse_steps")

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LIMITS = critical_limits()


@pytest.fixture(scope="module")
def found():
    meant = described(EXAMPLES / "logged_batch.toml")
    log = read_log_file(EXAMPLES / "logger_file.csv", part=(None, "80 min"))
    return estimate(fit_log(log, meant.batch, meant.uncertainties, draws=48, rounds=3))


@pytest.fixture(scope="module")
def units(found):
    return Units(found.of.batch)


def page(found, units, **given):
    document = record_document([found], given.pop("limits", LIMITS), units, **given)
    return content_of(document, ".html", "metric").decode("utf-8")


def test_a_record_holds_what_an_inspector_asks_for(found, units):
    text = page(found, units, lot="12 <b>")
    assert text.index(NO_APPROVAL) < text.index(">Critical limits</h2>")
    for part in (
        "12 &lt;b&gt;",
        "beef eye of round",
        "700 g",
        "wet bulb 68 °C",
        LIMITS.name,
        "p. 26 table 1",
        "in ice water (0 °C)",
        "in boiling water (100 °C at this height)",
    ):
        assert part in text
    for part in (
        "lowest reading",
        "Come-up",
        "humidity option",
        "signature, date",
        "corrective action",
        "<svg",
    ):
        assert part in text
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
    assert "http" not in text.replace("http://www.w3.org", "")


def test_a_stage_is_told_by_what_the_slices_are_in(found, units):
    """Liquid, steam and a cover have no humidity, and a condition is told as what ends the stage."""
    air = found.of.batch.stages[0].air
    core = Until(core_temperature_K=to_si("", "71 degC", "temperature"))
    kinds = [
        replace(found.of.batch.stages[0], name=kind, kind=kind, until=core, duration_s=1800.0)
        for kind in ("marinade", "steam", "rest")
    ]
    relative = replace(
        found.of.batch.stages[1], air=replace(air, humidity=Humidity(kind="relative", value=0.7))
    )
    batch = replace(found.of.batch, stages=(*kinds, relative))
    text = page(replace(found, of=replace(found.of, batch=batch)), units)
    ends = ", at most 30 min, until core 71 °C"
    assert f"marinade: stirred in marinade at 77 °C{ends}" in text
    assert f"steam: in steam at 77 °C{ends}" in text
    assert f"rest: covered, so that nothing dries, at 77 °C{ends}" in text
    assert "drying: 77 °C, 70 % RH, 6 h" in text
    assert "room air" not in text


def test_it_says_how_the_limits_were_set_and_what_was_weighed(found, units):
    text = page(found, units)
    assert "Of the batch as it is meant: the air" in text  # its humid hour was not measured
    assert "Measure the wet bulb at the slices" in text
    weighed = Weights(time_s=np.array([0.0, 1800.0]), share=np.array([1.0, 0.87]))
    assert "87% after 30 min" in page(replace(found, of=replace(found.of, weights=weighed)), units)


def test_it_is_written_as_pdf_and_as_values(found, units):
    document = record_document([found], LIMITS, units)
    pdf = content_of(document, ".pdf", "us")
    assert pdf.startswith(b"%PDF")
    assert pdf == content_of(document, ".pdf", "us")
    values = document.data()
    assert values["not_an_approval"] == NO_APPROVAL
    assert values["limits"]["name"] == LIMITS.name
    assert {each["source"] for each in values["what_applies"]} <= {
        step.source for steps in LIMITS.deviation.values() for step in steps
    }


def test_what_was_missed_is_told_with_what_applies(found, units):
    """The example's humid hour stands at 70 %, below what options 3 and 4 ask for."""
    missed = deviations([found], LIMITS, units)
    assert "humidity" in missed.kinds
    assert "p. 69" in page(found, units)
    doubtful = replace(found, of=replace(found.of, objections=(Finding("probe_half_out", {"share": 0.4}),)))
    assert "not well inside the meat" in page(doubtful, units)
    asked = Finding("never_behind_its_air", {"behind_K": 1.0, "least_K": 8.0})
    text = page(replace(found, of=replace(found.of, objections=(asked,))), units)
    assert "did the log begin late?" in text
    assert "?." not in text


def test_a_log_in_doubt_has_no_best_estimate(found, units):
    doubtful = replace(found, of=replace(found.of, objections=(Finding("probe_half_out", {"share": 0.4}),)))
    assert re.search(r"best estimate [0-9]", page(found, units))
    text = page(doubtful, units)
    assert text.count("best estimate -") == 2 * len(found.batch_lethality.lethality.organisms)
    assert not re.search(r"best estimate [0-9]", text)


def test_the_table_shows_every_reading_or_says_how_many_it_leaves_out(found, units):
    log = found.of.log

    def shown(estimate):
        tables = [
            block for block in record_document([estimate], LIMITS, units).blocks if isinstance(block, Form)
        ]
        return next(len(table.rows) for table in tables if table.heads[0].startswith("time"))

    assert shown(found) == log.time_s.size
    assert "leaves out" not in page(found, units)
    many = np.arange(500.0) * log.time_s[-1] / 499.0
    longer = replace(
        log,
        time_s=many,
        **{
            name: np.interp(many, log.time_s, getattr(log, name))
            for name in ("temperature_K", "air_temperature_K", "relative_humidity")
        },
    )
    of = replace(
        found.of, fitted=replace(found.of.fitted, log=longer), heated=replace(found.of.heated, whole=longer)
    )
    left = replace(found, of=of)
    assert f"The table leaves out {500 - shown(left)} between those it shows" in page(left, units)


def test_the_screen_of_a_log_shows_a_short_one_whole_and_says_how_many_of_a_long_one(found, units):
    def shown(estimate):
        details = [
            each for each in estimate_document(estimate, None, units).blocks if isinstance(each, Detail)
        ]
        (table,) = next(each.blocks for each in details if each.title == "the probed slice")
        return len(table.columns[0].cells), table.notes

    log, fitted = found.of.log, found.of.fitted
    assert shown(found) == (9, [f"9 of the {log.time_s.size} readings, evenly spread."])
    few = np.linspace(0, log.time_s.size - 1, 14).astype(int)
    columns = ("time_s", "temperature_K", "air_temperature_K", "relative_humidity")
    short = replace(log, **{name: getattr(log, name)[few] for name in columns})
    of_few = replace(fitted, log=short, used=np.arange(14), after_K=fitted.after_K[:14])
    assert shown(replace(found, of=replace(found.of, fitted=of_few))) == (14, [])


def test_degrees_are_written_as_degrees(found, units):
    assert "degF" not in page(found, units)


def test_the_come_up_is_counted_by_the_readings(found, units):
    log = found.of.log
    low, high = LIMITS.come_up_K
    counted = come_up_s(log, LIMITS)
    inside = (log.temperature_K >= low) & (log.temperature_K <= high)
    assert counted == pytest.approx(120.0 * inside.sum(), abs=240.0)  # an interval more or less
    slow = replace(LIMITS, come_up_s=counted - 1.0)
    assert "come_up" in deviations([found], slow, units).kinds
    assert "come_up" not in deviations([found], LIMITS, units).kinds


def test_limits_of_another_country_take_the_place_of_these_and_are_named(found, units, tmp_path):
    path = tmp_path / "limits.toml"
    shipped = Path(critical_limits.__code__.co_filename).with_suffix(".toml").read_text("utf-8")
    path.write_text(
        shipped.replace('longest = "6 h"', 'longest = "4 h"').replace("USA: USDA", "Elsewhere:"), "utf-8"
    )
    other = critical_limits(path)
    assert other.come_up_s == to_si("", "4 h", "duration")
    assert "Elsewhere: FSIS" in page(found, units, limits=other)


@pytest.mark.parametrize(
    ("slip", "told"),
    [
        (("[come_up]", "[comeup]"), "did you mean 'come_up'"),
        (('low = "50 degF"', 'low = "150 degF"'), "is not below high"),
        (('source = "FSIS-GD-2021-14, p. 23"\n', ""), "[come_up] needs 'source'"),
        (('when = "any"', 'when = "every"'), "[[deviation]] 4, when = 'every'"),
        (("[[advice]]", "[advice]"), "double brackets"),
        (('name = "USA', 'name = 3 # "USA'), "line of text in quotes is expected"),
        (("[reading]", "[reading"), "line 20, column 9: the bracket that closes a heading is missing"),
        (("[reading]", "[[reading]]"), "a table of keys is expected"),
        (('low = "50 degF"', f"low = {'9' * 5000}"), "thousands of digits"),
    ],
)
def test_slips_in_a_limits_file_are_told_in_one_line(tmp_path, slip, told):
    path = tmp_path / "limits.toml"
    shipped = Path(critical_limits.__code__.co_filename).with_suffix(".toml").read_text("utf-8")
    assert slip[0] in shipped
    path.write_text(shipped.replace(*slip, 1), "utf-8")
    with pytest.raises(InputError) as error:
        critical_limits(path)
    assert told in str(error.value)
    assert "\n" not in str(error.value)


def test_several_logs_stand_beside_each_other_and_the_worst_counts(found, units):
    """A second log in doubt: its batch is not shown, so that is what the record says, and it tells both."""
    doubt = Finding("probe_half_out", {"share": 0.4})
    held = replace(
        found.batch_lethality.lethality,
        organisms=tuple(each.not_shown() for each in found.batch_lethality.lethality.organisms),
    )
    log = replace(found.of.log, name="second.csv", reads_high_K=1.0)
    of = replace(found.of, objections=(doubt,), fitted=replace(found.of.fitted, log=log))
    second = replace(found, of=of, batch_lethality=replace(found.batch_lethality, lethality=held))
    document = record_document([found, second], LIMITS, units)
    text = content_of(document, ".html", "metric").decode("utf-8")
    assert "Of 2 logs the one that stands worst counts: second.csv" in text
    assert "The log second.csv is in doubt" in text
    assert text.count("Estimated in this slice") == text.count("<svg") == 2
    assert "1 K was taken off every reading of second.csv" in text
    assert "o error of the probe of logger_file.csv was stated" in text  # begins a sentence
    values = document.data()
    assert values["log"] == "second.csv"
    assert [each["log"] for each in values["logs"]] == ["logger_file.csv", "second.csv"]
    assert {each["whole_batch"]["grade"] for each in values["logs"]} >= {values["whole_batch"]["grade"]}
    assert any("is not shown" in deviation for deviation in values["deviations"])


def test_a_recipe_weights_and_a_measured_water_activity_are_told(found, units):
    """A batch at a height, its marinade as ingredients, a log with a column of water activity."""
    text = (EXAMPLES / "logged_batch.toml").read_text("utf-8")
    batch = parse_batch(
        text.replace("[room]", '[room]\naltitude = "1600 m"')
        + '[marinade]\ntime = "24 h"\ningredients = ["80 g soy sauce", "20 g brown sugar"]\n',
        "recipe",
    )
    whole = replace(
        found.of.heated.whole, water_activity=np.linspace(0.99, 0.31, found.of.heated.whole.time_s.size)
    )
    of = replace(found.of, batch=batch, heated=replace(found.of.heated, whole=whole))
    text = page(replace(found, of=of), units)
    assert "soy sauce 80 g, brown sugar 20 g; 24 h at 4 °C" in text
    assert "in boiling water (95 °C at this height)" in text
    assert "Water activity as logged at the probe: from 0.99 to 0.31" in text
