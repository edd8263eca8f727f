"""A thermometer's log: reading, every bad line, and the judgement."""

import numpy as np
import pytest

from dryingsim.errors import InputError
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.findings import Finding
from dryingsim.judge.heat_resistance import lower_bound
from dryingsim.judge.probe import judge_log, judge_probe
from dryingsim.judge.thermometer_log import read_log, read_log_file

HEAD = "time [min], temperature [degC], water_activity, relative_humidity [%]\n"


BATH = {"started_warm": "held in a bath"}


def hold(celsius, minutes, aw=0.99, humidity=95.0, step=5):
    return HEAD + "".join(f"{m}, {celsius}, {aw}, {humidity}\n" for m in range(0, minutes + 1, step))


def test_reading_with_units_from_the_heading():
    log = read_log(
        "# probe 2\n\nTemperature [degF]; Time (h); relative humidity [%]\n140;0;35\n150,8;0,25;36,5\n",
        "a.csv",
    )
    np.testing.assert_allclose(log.time_s, [0.0, 900.0])
    np.testing.assert_allclose(log.temperature_K, [(140 + 459.67) / 1.8, (150.8 + 459.67) / 1.8])
    np.testing.assert_allclose(log.relative_humidity, [0.35, 0.365])
    assert log.water_activity is None
    assert log.lines == (4, 5)


def test_tabs_and_kelvin_and_ratio():
    log = read_log(
        "time [s]\ttemperature [K]\trelative_humidity [-]\twater_activity\n0\t300\t0.5\t0.9\n60\t310\t0.6\t0.8\n"
    )
    assert log.time_s.tolist() == [0.0, 60.0]
    assert log.temperature_K.tolist() == [300.0, 310.0]
    assert log.relative_humidity.tolist() == [0.5, 0.6]
    assert log.water_activity.tolist() == [0.9, 0.8]


def test_as_a_person_types_it():
    log = read_log(
        "time, meat °F, RH, air [degF], note\n8:52 am, 40, 30 %, 160, in\n9:05, 95, 31,,\n9:20, 49 °C, 29%, 70 degC\n"
    )
    np.testing.assert_allclose(log.time_s, [0.0, 780.0, 1680.0])
    np.testing.assert_allclose(log.temperature_K, [(40 + 459.67) / 1.8, (95 + 459.67) / 1.8, 322.15])
    np.testing.assert_allclose(log.relative_humidity, [0.30, 0.31, 0.29])
    first = (160 + 459.67) / 1.8
    np.testing.assert_allclose(
        log.air_temperature_K, [first, first + (343.15 - first) * 780.0 / 1680.0, 343.15]
    )


def test_clock_times_pass_midnight():
    log = read_log("time [clock], temperature [degC]\n23:50, 20\n23:59:30, 30\n0:05, 40\n00:10:30, 50\n")
    assert (log.time_s - log.time_s[0]).tolist() == [0.0, 570.0, 900.0, 1230.0]


def test_reading_a_file(tmp_path):
    path = tmp_path / "probe.csv"
    path.write_text(hold(60, 20), encoding="utf-8-sig")
    assert read_log_file(path).time_s[-1] == 1200.0
    with pytest.raises(InputError, match="there is no such file"):
        read_log_file(tmp_path / "none.csv")
    with pytest.raises(InputError, match=r"a table of readings \(CSV\) is expected"):
        read_log_file(tmp_path / "batch.toml")


@pytest.mark.parametrize(
    "heading", ["time [min], temperature [degC], water_activity", "time [min], meat [degC], aw"]
)
def test_a_part_of_a_typed_log_is_read_as_the_whole_is(tmp_path, heading):
    path = tmp_path / "probe.csv"
    rows = [f"{minute}, {4 + max(minute - 10, 0)}, 0.99" for minute in range(0, 40, 5)]
    path.write_text("\n".join([heading, *rows]))
    whole, part = read_log_file(path), read_log_file(path, part=("10 min", "30 min"))
    assert part.temperature_K.tolist() == pytest.approx(whole.temperature_K[2:7].tolist())
    assert part.time_s.tolist() == [0.0, 300.0, 600.0, 900.0, 1200.0]
    assert part.water_activity.tolist() == [0.99] * 5


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "no line with columns"),
        ("# only a remark\n", "no line with columns"),
        (HEAD, "at least two readings are needed, found 0"),
        (HEAD + "0, 20, 0.99, 40\n", "found 1"),
        (
            "time [min], temperture [degC]\n0, 1\n",
            r"line 1: column 'temperture \[degC\]'.*did you mean 'temperature'",
        ),
        ("time [min], water_activity\n0, 1\n", "line 1: no column 'temperature'"),
        ("temperature [degC], water_activity\n0, 1\n", "line 1: no column 'time'"),
        ("time [min], time [h], temperature [degC]\n", "'time' stands twice"),
        ("time, temperature [degC]\n0, 1\n1, 2\n", "line 3, time = '1' has no unit"),
        ("time [min], temperature\n0, 1\n", "line 2, temperature = '1' has no unit"),
        ("time [kg], temperature [degC]\n0, 1\n1, 2\n", "line 2, time.*a duration"),
        ("time [min], temperature [bar]\n0, 1\n", "line 1, temperature.*a temperature"),
        ("time [min], temperature [degC], water_activity [%]\n", "line 1, water_activity: the unit '%'"),
        (HEAD + "0, 20, 0.99, 40\n5, 20, 0.99\n", "line 3, relative_humidity = '': a percentage"),
        (HEAD + "0, 20, 0.99, 40\n5, warm, 0.99, 40\n", "line 3, temperature = 'warm': a temperature"),
        (HEAD + "0, 20, 0.99, 40\n5, nan, 0.99, 40\n", "line 3, temperature = 'nan': a temperature"),
        (HEAD + "0, 20, 0.99, 40\n5, , 0.99, 40\n", "line 3, temperature = '': a temperature"),
        (
            HEAD + "0, 20, 0.99, 40\n# pause\n5, 20, 1.2, 40\n",
            "line 4, water_activity = '1.2' is outside 0 to 1",
        ),
        (HEAD + "0, 20, -0.1, 40\n5, 20, 0.9, 40\n", "line 2, water_activity = '-0.1' is outside 0 to 1"),
        (HEAD + "0, 20, 0.99, 140\n", "line 2, relative_humidity = '140 %' is outside 0 % to 100 %"),
        (
            HEAD + "0, 20, 0.99, 40\n5, 155, 0.99, 40\n",
            "line 3, temperature = '155 degC' is outside -20 degC to 150 degC",
        ),
        (HEAD + "0, -40, 0.99, 40\n", "line 2, temperature = '-40 degC' is outside -20 degC to 150"),
        (HEAD + "5, 20, 0.99, 40\n4, 20, 0.99, 40\n", "line 3, time = '4' is before the line above"),
        (HEAD + "5, 20, 0.99, 40\n5, 20, 0.99, 40\n", "line 3: time does not go on"),
        (
            HEAD + "0, 20, 0.99, 40\n40, 20, 0.99, 40\n",
            "line 3: 40 min without a reading, longer than 15 min",
        ),
        ("time [clock], temperature [degC]\n25:10, 20\n26:00, 20\n", "line 2, time = '25:10': a time of day"),
        (
            "time, temperature [degC], note\n0:00, 20\n0:05, 55,6\n",
            "line 3: '55,6': a decimal comma, or two values",
        ),
        ("time [clock], temperature [degC]\n5, 20\n6, 20\n", "line 2, time = '5': a time of day"),
        (
            "time [clock], temperature [degC]\n10:10, 20\n10:05, 20\n",
            "line 3, time = '10:05' is before the line above",
        ),
    ],
)
def test_bad_logs_name_the_line_in_one_line(text, message):
    with pytest.raises(InputError, match=message) as caught:
        read_log(text, "probe.csv")
    assert "\n" not in str(caught.value)
    assert str(caught.value).startswith("probe.csv")


@pytest.mark.parametrize("typed", ["1", "0.95", "1.0", "0.5"])
def test_a_humidity_that_is_percent_or_ratio_is_asked_about(typed):
    with pytest.raises(InputError, match=r"line 3, relative_humidity = '.*': percent, or a ratio"):
        read_log(f"time [min], meat [degC], rh\n0, 4, 35\n5, 20, {typed}\n")


@pytest.mark.parametrize(
    ("heading", "typed", "ratio"),
    [("rh", "1 %", 0.01), ("rh [%]", "1", 0.01), ("rh [-]", "1", 1.0), ("rh", "95", 0.95), ("rh", "0", 0.0)],
)
def test_a_humidity_with_its_unit_is_read(heading, typed, ratio):
    log = read_log(f"time [min], meat [degC], {heading}\n0, 4, {typed}\n5, 20, {typed}\n")
    np.testing.assert_allclose(log.relative_humidity, ratio)


@pytest.mark.parametrize("gap", [1e9, float("inf"), float("nan"), 36000.0, 3601.0, 0.0, -1.0])
def test_no_gap_of_hours_can_be_allowed(gap):
    with pytest.raises(InputError, match=r"longest_gap_s = .* is outside 0 to 3600 s"):
        read_log(hold(62, 60), longest_gap_s=gap)


def test_a_longer_gap_can_be_allowed_and_earns_nothing():
    rows = [f"{m}, 65, 0.99, 95" for m in (0, 5, 10, 15, 55, 60)]
    log = read_log(HEAD + "\n".join(rows), longest_gap_s=3600.0)
    assert log.time_s[-1] == 3600.0
    short = read_log(HEAD + "\n".join([*rows[:4], "20, 65, 0.99, 95"]))
    with_gap, without = (judge_probe(judge_log(each, **BATH), "beef").organisms for each in (log, short))
    for of_gap, of_short in zip(with_gap, without, strict=True):
        assert of_gap.lower == pytest.approx(of_short.lower, abs=1e-4)  # of the twenty minutes that were read
        assert of_gap.lower > 0.0


def test_between_readings_the_cooler_and_drier_end_counts():
    log = read_log(HEAD + "0, 60, 0.99, 95\n5, 64, 0.98, 95\n10, 62, 0.99, 95\n")
    steps = np.array([0.0, 300.0, 300.0, 600.0]), np.array([333.15, 333.15, 335.15, 335.15]), np.full(4, 0.98)
    for entry in judge_probe(judge_log(log, **BATH), "beef").organisms:
        expected = lower_bound(*steps, entry.organism, "whole")
        assert (entry.lower, entry.best) == pytest.approx((expected.lower, expected.median), rel=1e-9)


def test_a_warm_start_needs_a_reason_from_the_file_or_the_caller():
    with pytest.raises(
        InputError, match=r"log line 2: the log begins with meat at 62 degC.*# started warm: reason"
    ):
        judge_log(read_log(hold(62, 60)))
    with pytest.raises(
        InputError, match=r"begins with meat at 160 degF.*log from before it was warm"
    ) as refusal:
        judge_log(read_log("time [min], meat [degF], a_w\n" + "".join(f"{i}, 160, 0.99\n" for i in range(9))))
    assert "degC" not in str(refusal.value)
    assert "meant" not in str(refusal.value)
    told = judge_log(read_log(hold(62, 60)), **BATH)
    assert Finding("warm_with_reason", {"reason": "held in a bath"}) in told.remarks
    written = read_log("# Started warm: heated in the marinade\n" + hold(62, 60))
    assert written.started_warm == "heated in the marinade"
    assert Finding("warm_with_reason", {"reason": "heated in the marinade"}) in judge_log(written).remarks
    assert read_log("# started warm:  \n" + hold(62, 60)).started_warm is None


def test_the_thickness_tells_how_fast_the_meat_can_warm():
    rows = [4, 20, 30, 36, 40, 43, 45, 57, 58, 58, 58, 58, 58]  # 12 K in a minute in dry air
    log = read_log(HEAD + "".join(f"{m}, {t}, 0.99, 15\n" for m, t in enumerate(rows)))
    thin, thick = (judge_log(log, thickness_m=metres).objections for metres in (1e-3, 8e-3))
    assert thin == ()
    assert (thick[0].key, thick[0].values["thickness_m"]) == ("fast_rise", 8e-3)
    with pytest.raises(InputError, match=r"thickness_m = 5 is outside 0.001 to 0.03 m"):
        judge_log(log, thickness_m=5)


@pytest.mark.parametrize(
    ("form", "matrix"), [("minced", "ground"), ("sliced", "surface"), ("pounded", "whole")]
)
def test_reductions_at_constant_temperature(form, matrix):
    held = np.array([0.0, 3600.0]), np.full(2, 335.15), np.full(2, 0.99)
    for entry in judge_probe(judge_log(read_log(hold(62, 60)), **BATH), "beef", form).organisms:
        expected = lower_bound(*held, entry.organism, matrix)
        assert (entry.lower, entry.best) == pytest.approx((expected.lower, expected.median), rel=1e-9)
        assert entry.lower < entry.best


def test_a_form_not_given_is_the_strictest():
    judgement = judge_log(read_log(hold(62, 60)), **BATH)
    unknown = judge_probe(judgement, "beef").organisms
    for form in ("minced", "sliced", "pounded"):
        known = judge_probe(judgement, "beef", form).organisms
        assert all(a.lower <= b.lower for a, b in zip(unknown, known, strict=True))


def test_water_activity_must_be_known():
    log = read_log("time [min], temperature [degC]\n0, 60\n10, 60\n", "probe.csv")
    unknown = judge_log(log, **BATH)
    assert unknown.objections[0] == Finding("no_water_activity", {"water_activity": 0.99})
    assert judge_probe(unknown, "beef").grade != "met"
    with pytest.raises(InputError, match="outside 0 to 1"):
        judge_log(log, water_activity=85.0, **BATH)
    wet, dry = (judge_log(log, water_activity=aw, **BATH) for aw in (0.99, 0.8))
    assert dry.remarks[0] == Finding("water_activity_assumed", {"water_activity": 0.8})
    dried, wetted = (judge_probe(each, "beef").organisms[1].best for each in (dry, wet))
    assert dried < wetted


def test_hot_readings_are_remarked_with_their_line():
    text = HEAD + "0, 80, 0.5, 40\n5, 88, 0.5, 40\n10, 92, 0.5, 40\n"
    assert Finding("hotter_than_measured", {"line": 4}) in judge_log(read_log(text), **BATH).remarks
    cooler = judge_log(read_log(hold(60, 20)), **BATH)
    assert "hotter_than_measured" not in {remark.key for remark in cooler.remarks}


def test_federal_table_of_a_log():
    beef = column_of("beef")
    wet = judge_log(read_log(hold(60, 90)), **BATH, column=beef).compliance
    assert wet.fulfilled
    assert wet.fraction == pytest.approx(90.0 / 12.0, rel=1e-6)
    assert not judge_log(read_log(hold(60, 90, humidity=40)), **BATH, column=beef).compliance.fulfilled
    assert judge_log(read_log(hold(60, 90)), **BATH).compliance is None
    short = judge_log(read_log(hold(61.2, 40)), **BATH, column=column_of("poultry", fat=0.01)).compliance
    assert short.fulfilled  # 64 degC would be short too, but for air that is humid throughout
    assert short.rule.throughout


def test_federal_table_needs_humidity():
    log = read_log("time [min], temperature [degC], water_activity\n0, 60, 0.99\n10, 60, 0.99\n")
    with pytest.raises(InputError, match="no column relative_humidity"):
        judge_log(log, **BATH, column=column_of("beef"))


def test_meat_that_would_boil_is_a_slip():
    log = read_log("time [min], temperature [degC]\n0, 20\n10, 90\n20, 138\n", "probe.csv")
    with pytest.raises(InputError, match=r"probe.csv line 4: meat of a water activity of 0.97 boils before"):
        judge_log(log, water_activity=0.97)
    judge_log(log, water_activity=0.2)  # dry slices in an oven


def test_a_single_reading_that_stands_out_hot_is_not_counted():
    head, rows = "time [min], temperature [degC]\n", [48, 49, 50, 52, 52, 52]
    text = head + "".join(f"{10 * i}, {t}\n" for i, t in enumerate(rows))
    slip = text.replace("30, 52", "30, 72")
    plain, found = (judge_log(read_log(one), water_activity=0.97, **BATH) for one in (text, slip))
    assert Finding("reading_stands_out", {"line": 5}) in found.remarks
    assert "reading_stands_out" not in {remark.key for remark in plain.remarks}
    np.testing.assert_array_equal(found.temperature_K, plain.temperature_K)
    risen = read_log(text.replace("30, 52", "30, 60").replace("40, 52", "40, 70").replace("50, 52", "50, 71"))
    remarks = judge_log(risen, water_activity=0.97, **BATH).remarks
    assert "reading_stands_out" not in {remark.key for remark in remarks}
