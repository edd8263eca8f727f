"""A log as a person types it: every way of writing that is meant to work, and one clear line where it does not."""

import pytest

from dryingsim.batch.reading.weigh_in_file import read_weigh_ins
from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.errors import InputError


def rows(text):
    return [(one.time_s, one.quantity, round(one.value, 6)) for one in parse_weigh_ins(text).readings]


@pytest.mark.parametrize(
    "typed",
    [
        "time, weight [g]\n0:00, 700\n1:30, 500\n",
        "time, weight\n0, 700 g\n1 h 30 min, 0.5 kg\n",
        "Weight (kg); Time [min]\n0,700; 0\n0,5; 90\n",
        "time\tweight [g]\n14:00\t700\n15:30\t500\n",
        'time, weight [g], note\n\n# a remark\n11:00 pm, 700, "in, at last"\n12:30 am,500\n',
        "time [h], weight [g]\n0, 700\n1.5, 500\n",
        "time [clock], weight [g],,\n3:15, 700,,\n4:45, 500,,\n",
        "time [elapsed], mass [kg]\n0:00, 0.7\n1:30, 0.5\n",
        'time, weight [g]\n2 pm, "700,0"\n3:30 pm, 500\n',
        "time, weight [g]\n11:30 am, 700\n1:00 pm, 500\n",
        "time, weight_g\n11:30, 700\n1:00 p.m., 500\n",
    ],
)
def test_ways_of_typing_the_same(typed):
    assert rows(typed) == [(0.0, "weight", 0.7), (5400.0, "weight", 0.5)]


def test_past_midnight_it_goes_on():
    log = parse_weigh_ins("time, weight [g]\n22:30, 700\n23:59, 600\n0:30, 550\n13:00, 300\n")
    assert [one.time_s for one in log.readings] == [0.0, 5340.0, 7200.0, 52200.0]
    assert log.start_clock_s == 22.5 * 3600.0


def test_pounds_ounces_and_tare():
    log = parse_weigh_ins("time, weight, tare [oz]\n0:00, 1 lb 12 oz, 3.2\n1:30, 1.5 lb, 3.2\n")
    assert [round(one.value / 0.45359237, 4) for one in log.readings] == [1.55, 1.3]


def test_empty_cells_are_gaps():
    text = "time, weight [g], meat [degC], air [degF]\n0:00, 700, , \n0:30, , 41.5, 154.4\n1:00, 500\n"
    found = parse_weigh_ins(text).readings
    assert [(one.line, one.quantity) for one in found] == [
        (2, "weight"),
        (3, "meat"),
        (3, "air"),
        (4, "weight"),
    ]
    assert found[2].value == pytest.approx(341.15)


@pytest.mark.parametrize(
    ("cells", "step_g"),
    [
        (("700", "500"), 1.0),
        (("700.0", "500.5"), 0.1),
        (("0.700 kg", "0.500 kg"), 1.0),
        (("705", "620", "555", "490", "400"), 5.0),
        (("704", "622", "556", "498", "400"), 2.0),
        (("700", "620", "550", "490", "400"), 10.0),
    ],
)
def test_the_scale_reads_as_finely_as_was_typed(cells, step_g):
    body = "".join(f"{i}:00, {cell}\n" for i, cell in enumerate(cells))
    log = parse_weigh_ins("time, weight [g]\n" + body)
    assert {round(1e3 * one.resolution, 6) for one in log.readings} == {step_g}


def test_trays_and_slices():
    log = parse_weigh_ins(
        "time, weight [g], tray, slice\n0:00, 200, 1,\n0:00, 210, 2,\n0:00, 25, , left 6 mm\n1:00, 180, 1,\n1:00,20,,left 6 mm\n"
    )
    assert [(one.scope, one.name) for one in log.readings] == [
        ("tray", "1"),
        ("tray", "2"),
        ("slice", "left 6 mm"),
        ("tray", "1"),
        ("slice", "left 6 mm"),
    ]
    assert log.readings[2].thickness_m == pytest.approx(6e-3)


def test_a_weight_that_rises_is_remarked_not_refused():
    log = parse_weigh_ins("time, weight [g]\n0:00, 700\n1:00, 500\n1:30, 530\n")
    assert log.remarks == ("line 4: heavier than in line 3; drying meat only gets lighter",)


def test_remarks_name_batch_and_date():
    log = parse_weigh_ins("# batch: loin.toml\n# Date: 2026-03-01\ntime, weight [g]\n0:00, 700\n")
    assert (log.batch_file, log.date) == ("loin.toml", "2026-03-01")


def test_until_leaves_out_what_came_later():
    log = parse_weigh_ins("time, weight [g]\n0:00, 700\n1:00, 500\n2:00, 400\n").until(3600.0)
    assert log.last_s == 3600.0
    assert len(log.readings) == 2


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("", "log.csv: no line with columns found; expected for example 'time, weight [g], note'"),
        ("time, weight [g]\n", "log.csv: there is no line below the heading"),
        ("time, wieght [g]\n0:00, 7\n", "line 1: column 'wieght [g]' is not known; did you mean 'weight'?"),
        ("time, temperature\n0:00, 7\n", "line 1: column 'temperature': of what? Call it 'meat [degC]'"),
        ("time, note\n0:00, in\n", "line 1: no column 'weight'"),
        ("time, weight, weight\n", "line 1: column 'weight' stands twice"),
        ("time, weight [cm]\n0:00, 7\n", "weight [cm]: 'cm' measures a length; a weight is expected, in kg"),
        ("time, weight\n0:00, 719\n", "line 2, weight = '719' has no unit; write it behind the number"),
        ("time, weight [g]\n0:00, seven\n", "line 2, weight = 'seven': a weight with its unit is expected"),
        (
            "time, weight [g]\n0:00, 612,5\n",
            "line 2: 3 values, but the heading has 2 columns; '612,5': a decimal comma? Write 612.5",
        ),
        (
            "time, weight [g], note\n0:00, 20\n0:45, 18,6\n",
            "line 3: '18,6': a decimal comma, or two values? Write 18.6",
        ),
        ("time, weight, meat [degF]\n0:00, 18,6 oz\n", "line 2: '18,6': a decimal comma, or two values?"),
        ("time [h], weight [oz], meat [degF]\n0, 20, 60\n0,5, 18\n", "line 3: '0,5': a decimal comma"),
        ("time,weight [oz],note\n0:00,18,6 oz\n", "line 2: '18,6': a decimal comma, or two values?"),
        ('time, weight [g]\n0:00, "1,250"\n', "line 2: '1,250': write 1250 or 1.250, as it is meant"),
        ("time, weight [g]\n0:00, 1,250\n", "'1,250': a decimal comma? Write 1250 or 1.250, put"),
        ("time,weight [oz],note\n0:00,18,6\n", "line 2: '18,6': a decimal comma, or two values?"),
        (
            "# outcome: taken out at 8,6 oz\ntime, weight [g]\n0:00, 7\n",
            "# outcome = '8,6 oz': the decimal sign is a point, '8.6 oz'",
        ),
        ("time, weight [g]\n0:00, 7e9\n", "line 2, weight = '7e9'"),
        ("time, weight [g]\n0:00, 719000000\n", "is outside"),
        ("time, weight [g]\n,719\n", "line 2, time is empty"),
        ("time, weight [g]\n1:30, 719\n", "time of day or time since the start?"),
        (
            "time, weight [g]\n9:30, 719\nnoon, 5\n",
            "line 3, time = 'noon': a time of day is expected, for example 15:40",
        ),
        ("time, weight [g]\n9:30, 719\n9:10, 700\n", "line 3, time = '9:10' is before the line above"),
        ("time, weight [g]\n0:00, 719\n900 h, 700\n", "line 3, time = '900 h' is outside 0 h to 240 h"),
        ("time, weight [g], tray\n0:00, 719, two\n", "tray = 'two': the number of a tray is expected"),
        (
            "time, weight [g], tray, slice\n0:00, 719, 2, A\n",
            "a tray and a slice; a weight is of one of them",
        ),
        ("time, weight [g], tare [g]\n0:00, 719, 800\n", "nothing is left once the tare is taken off"),
        ("time, weight [g], air [degC]\n0:00, , 70\n", "no weight found below the heading"),
    ],
)
def test_one_clear_line(typed, told):
    with pytest.raises(InputError) as error:
        parse_weigh_ins(typed, "log.csv")
    assert told in str(error.value)
    assert "\n" not in str(error.value)
    assert str(error.value).startswith("log.csv")


@pytest.mark.parametrize(
    "typed",
    [
        "time; weight [g]; note\n0:00; 612,5;\n",
        'time, weight [g], note\n0:00, "612,5", in\n',
        "time, weight [g], note\n0:00, 612.5, turned two\n",
        "time,weight [g],tray\n0:00,612.5,1\n",
    ],
)
def test_commas_that_cannot_be_mistaken_are_read(typed):
    assert parse_weigh_ins(typed).readings[0].value == 0.6125


def test_a_fraction_tells_how_finely_a_scale_reads():
    (reading,) = parse_weigh_ins("time, weight, slice\n0:00, 1 ¼ lb, A ¼ in\n").readings
    assert reading.value == pytest.approx(1.25 * 0.45359237)
    assert reading.resolution == pytest.approx(0.25 * 0.45359237)
    assert reading.thickness_m == pytest.approx(0.25 * 0.0254)


def test_files_that_cannot_be_read(tmp_path):
    with pytest.raises(InputError, match="there is no such file"):
        read_weigh_ins(tmp_path / "none.csv")
    (tmp_path / "odd.csv").write_bytes(b"\xff\xfe\x00t")
    with pytest.raises(InputError, match="this is text in UTF-16"):
        read_weigh_ins(tmp_path / "odd.csv")
    (tmp_path / "marked.csv").write_text("time, weight [g]\n0:00, 7\n", encoding="utf-8-sig")
    assert read_weigh_ins(tmp_path / "marked.csv").readings[0].value == pytest.approx(7e-3)


def test_dates_put_batches_in_order():
    assert parse_weigh_ins("# date: 2026-03-08\ntime, weight [g]\n0:00, 700\n").date == "2026-03-08"
    with pytest.raises(InputError, match=r"log: # date: March 8: a date such as 2026-03-08 is expected"):
        parse_weigh_ins("# date: March 8\ntime, weight [g]\n0:00, 700\n")


@pytest.mark.parametrize(
    ("times", "says"),
    [
        (
            ("1:30 pm", "2:45"),
            "time = '2:45' is before the line above; lines go on in time; after noon write '2:45 pm'",
        ),
        (("11:30", "1:50"), "after noon write '1:50 pm'"),
        (("14:30", "13:50"), "is before the line above; lines go on in time"),
        (("13:30 pm", "14:00"), "'13:30 pm' is no time of day; expected for example 15:40 or 3:40 pm"),
        (("2026-03-01 13:30", "2026-03-01 14:30"), "the time of day alone is expected, 13:30"),
    ],
)
def test_times_of_day_that_may_mean_something_else_are_asked_about(times, says):
    with pytest.raises(InputError) as error:
        parse_weigh_ins("time, weight [g]\n" + "".join(f"{time}, 700\n" for time in times))
    assert says in str(error.value)
    assert ("after noon" in str(error.value)) == ("after noon" in says)


def test_meat_hotter_than_boiling_water_is_remarked_on():
    log = "time, weight [lb], meat [{}]\n14:05, 1.5, 155\n"
    assert parse_weigh_ins(log.format("degF")).remarks == ()
    (remark,) = parse_weigh_ins(log.format("degC")).remarks
    assert remark == "line 2: meat at 155 degC, hotter than boiling water; was degF meant?"
