"""Federal tables: printed values, the law behind them, and compliance in humid air after a come-up."""

import dataclasses

import numpy as np
import pytest

from dryingsim.batch.catalog.federal_tables import federal_column
from dryingsim.errors import InputError
from dryingsim.judge.federal_table import (
    RULES,
    best_compliance,
    column_of,
    required_time,
    table_compliance,
)
from dryingsim.show.lethality.federal_text import table_cautions, table_reason


def kelvin(fahrenheit):
    return (np.asarray(fahrenheit, dtype=float) + 459.67) / 1.8


# Typed a second time. FSIS-GD-2021-14, table 6 (page 59): 5 log; table 2 (page 35): 6.5 and 7 log; minutes to 145 degF, then
# seconds.
MEAT = """
130 86 112 121 | 131 69 89 97 | 132 55 71 77 | 133 44 56 62 | 134 35 45 47 | 135 28 36 37 | 136 22 28 32 | 137 18 23 24
138 14 18 19 | 139 11 15 15 | 140 9 12 12 | 141 7 9 10 | 142 6 8 8 | 143 5 6 6 | 144 4 5 5 | 145 3 4 4 | 146 130 169 182
147 103 134 144 | 148 82 107 115 | 149 65 85 91 | 150 52 67 72 | 151 41 54 58 | 152 33 43 46 | 153 26 34 37 | 154 21 27 29
155 17 22 23 | 156 14 17 19 | 157 11 14 15 | 158 0 0 0 | 159 0 0 0 | 160 0 0 0
"""
ROWS = [tuple(map(int, row.split())) for row in MEAT.strip().replace("\n", "|").split("|")]
TARGETS = (5.0, 6.5, 7.0)
# Tables 3 (page 37) and 4 (page 38), minutes with one decimal down to a minute, then seconds: degF, fat %, printed.
BIRDS = {
    "chicken": [
        (136, 1, "63.3 min"), (136, 12, "81.4 min"), (140, 1, "25.2 min"), (140, 5, "27.5 min"), (140, 12, "35 min"),
        (144, 12, "15.9 min"), (145, 1, "8.4 min"), (145, 6, "9.5 min"), (145, 12, "13 min"), (150, 1, "2.7 min"),
        (150, 12, "4.2 min"), (155, 1, "44.2 s"), (155, 5, "47.7 s"), (155, 12, "54.4 s"), (160, 1, "13.7 s"),
        (160, 12, "16.9 s"), (161, 1, "10.8 s"), (162, 6, "0 s"), (162, 7, "9.6 s"), (163, 12, "0 s"),
    ],
    "turkey": [
        (136, 1, "64 min"), (136, 12, "70.8 min"), (140, 1, "28.1 min"), (140, 12, "33.7 min"), (142, 12, "23.7 min"),
        (144, 12, "16.6 min"), (145, 1, "10.5 min"), (145, 6, "11 min"), (150, 1, "3.8 min"), (150, 12, "4.9 min"),
        (155, 1, "1.2 min"), (155, 12, "1.3 min"), (160, 1, "25.6 s"), (160, 12, "26.9 s"), (164, 1, "11.1 s"),
        (164, 12, "11.7 s"), (165, 1, "0 s"), (165, 12, "0 s"),
    ],
}  # fmt: skip


def printed(column):
    return {
        round(t * 1.8 - 459.67): time for t, time in zip(column.temperature_K, column.time_s, strict=True)
    }


@pytest.mark.parametrize("target", TARGETS)
def test_every_row_for_meat(target):
    column = federal_column("meat", target)
    assert len(ROWS) == 31 == len(column.time_s)
    for row in ROWS:
        seconds = (60 if row[0] <= 145 else 1) * row[1 + TARGETS.index(target)]
        assert printed(column)[row[0]] == seconds
        if seconds:
            assert required_time(kelvin(row[0]), column) == pytest.approx(seconds, rel=1e-9)


@pytest.mark.parametrize("bird", BIRDS)
def test_values_of_the_birds(bird):
    for fahrenheit, fat, text in BIRDS[bird]:
        value, unit = text.split()
        seconds = float(value) * (60.0 if unit == "min" else 1.0)
        column = federal_column(bird, 7.0, fat)
        assert printed(column)[fahrenheit] == pytest.approx(seconds), (fahrenheit, fat)
        if seconds:
            assert required_time(kelvin(fahrenheit), column) == pytest.approx(seconds, rel=1e-9)


def test_every_column_of_the_birds_asks_for_more_with_more_fat_and_falls_with_heat():
    for bird, rows in (("chicken", 28), ("turkey", 30)):
        table = np.array([federal_column(bird, 7.0, fat).time_s for fat in range(1, 13)])
        assert table.shape == (12, rows)
        assert (np.diff(table, axis=1) <= 0.0).all()
        # 151 and 150 degF begin with a longer time for 1 % than for 2 % of fat, as printed
        assert (np.diff(table, axis=0) >= -6.0).all()
        assert (np.diff(table[1:], axis=0) >= 0.0).all()


def test_poultry_is_the_longer_time_of_both_birds():
    both = printed(federal_column("poultry", 7.0, 12))
    assert both[136] == 81.4 * 60.0  # chicken
    assert both[150] == pytest.approx(4.9 * 60.0)  # turkey
    assert both[164] == pytest.approx(11.7)  # turkey; chicken is instant from 163
    for bird in BIRDS:
        assert all(both[at] >= time for at, time in printed(federal_column(bird, 7.0, 12)).items())


@pytest.mark.parametrize(
    ("species", "more", "table", "target", "fat"),
    [
        ("beef", {}, "meat", 6.5, None),
        ("pork", {"shelf_stable": True}, "meat", 5.0, None),
        ("game", {}, "meat", 6.5, None),
        ("other", {}, "poultry", 7.0, 12),
        ("poultry", {}, "poultry", 7.0, 12),
        ("poultry", {"fat": 0.02, "shelf_stable": True}, "poultry", 7.0, 2),
        ("poultry", {"fat": 0.0201}, "poultry", 7.0, 3),
        ("poultry", {"fat": 0.0}, "poultry", 7.0, 1),
        ("poultry", {"fat": 0.3}, "poultry", 7.0, 12),
        ("unknown", {"fat": 0.02, "shelf_stable": True}, "poultry", 7.0, 12),
    ],
)
def test_column_of_a_kind_of_meat(species, more, table, target, fat):
    column = column_of(species, **more)
    assert (column.table, column.target, column.fat_percent) == (table, target, fat)
    assert "FSIS-GD-2021-14" in column.where


def test_no_table_speaks_of_fish():
    assert column_of("fish") is None


# --- the law behind the meat table --------------------------------------------------------------------------


def law(fahrenheit, target):
    """112 min at 130 degF for 6.5 log, z = 10 degF, in proportion to the target; derived from the rows [s]."""
    return 112.0 * 60.0 * target / 6.5 * 10.0 ** ((130.0 - np.asarray(fahrenheit)) / 10.0)


def _off_by(row, target):
    """Printed time less the law, in the unit printed (minutes to 145 degF, then seconds)."""
    unit = 60.0 if row[0] <= 145 else 1.0
    return row[1 + TARGETS.index(target)] - float(law(row[0], target)) / unit


def test_law_within_rounding_and_the_rows_that_deviate():
    # A whole printed unit, to the nearest or up, is rounding: -0.5 to 1. The rest is listed, not hidden.
    deviating = {t: [row[0] for row in ROWS if not -0.5 <= _off_by(row, t) < 1.0] for t in TARGETS}
    assert deviating == {
        5.0: [156, 158, 159, 160],
        6.5: [158, 159, 160],
        7.0: [131, 133, 134, 135, 136, 158, 159, 160],
    }


# --- the required time --------------------------------------------------------------------------------------


def test_required_time_falls_and_gives_nothing_away_at_the_ends():
    t = kelvin(np.arange(120.0, 180.0, 0.25))
    for name, target in (("meat", 5.0), ("meat", 6.5), ("meat", 7.0), ("turkey", 7.0), ("poultry", 7.0)):
        column = federal_column(name, target)
        time = required_time(t, column)
        assert (np.diff(time[np.isfinite(time)]) <= 0.0).all()
        first = column.temperature_K[0]
        assert np.isinf(time[t < first - 1e-6]).all()
        assert np.isfinite(time[t > first - 1e-6]).all()
    assert required_time(kelvin(160.0), federal_column("meat", 6.5)) == pytest.approx(
        14.0
    )  # "0 s": not believed


def test_between_rows_the_time_is_log_linear():
    got = required_time(kelvin(146.5), federal_column("meat", 6.5))
    assert got == pytest.approx(np.sqrt(169.0 * 134.0))
    assert got == pytest.approx(float(law(146.5, 6.5)), rel=0.005)  # rows round to 1 s of 134-169


@pytest.mark.parametrize(
    ("table", "target", "fat", "message"),
    [
        ("meet", 6.5, None, "did you mean 'meat'"),
        ("meat", 5.5, None, "no column for 5.5 log; it has 5, 6.5, 7"),
        ("turkey", 6.5, None, "no column for 6.5 log; it has 7"),
        ("turkey", 7.0, 13, "1 to 12 is expected"),
    ],
)
def test_bad_columns(table, target, fat, message):
    with pytest.raises(InputError, match=message):
        federal_column(table, target, fat)


# --- compliance ---------------------------------------------------------------------------------------------

MEAT_COLUMN = federal_column("meat", 6.5)
HUMID, THROUGHOUT = RULES["option 3, humid air"], RULES["option 4, humid air throughout"]


def hold(minutes, fahrenheit, humidity, samples=241):
    time = np.linspace(0.0, 60.0 * minutes, samples)
    return time, np.full(samples, float(kelvin(fahrenheit))), np.full(samples, humidity)


def test_constant_hold_is_time_over_required_time():
    got = table_compliance(*hold(60.0, 140.0, 0.95), MEAT_COLUMN, HUMID)
    assert got.fraction == pytest.approx(60.0 / 12.0, rel=1e-9)
    assert got.humid_share == pytest.approx(1.0)
    assert got.humid_time_s == pytest.approx(3600.0)
    assert got.fulfilled
    assert "500%" in table_reason(got)
    assert HUMID.version in table_reason(got)


def test_dry_air_counts_nothing_however_hot():
    got = table_compliance(*hold(240.0, 155.0, 0.89), MEAT_COLUMN, HUMID)
    assert got.fraction == 0.0
    assert got.fraction_any_air == pytest.approx(240.0 * 60.0 / 22.0, rel=1e-9)
    assert not got.humidity_met
    assert not got.fulfilled


@pytest.mark.parametrize(
    ("humid_minutes", "total_minutes", "met"),
    [(61.0, 240.0, True), (59.0, 100.0, False), (70.0, 300.0, False), (76.0, 300.0, True)],
)
def test_share_and_hour_of_humid_air(humid_minutes, total_minutes, met):
    time, t, air = hold(total_minutes, 140.0, 0.3, samples=int(total_minutes) + 1)
    air[time <= 60.0 * humid_minutes] = 0.92
    got = table_compliance(time, t, air, MEAT_COLUMN, HUMID)
    assert got.humid_time_s == pytest.approx(60.0 * humid_minutes)
    assert got.humid_share == pytest.approx(humid_minutes / total_minutes)
    assert got.humidity_met is met
    assert got.fulfilled is met
    assert got.fraction == pytest.approx(humid_minutes / 12.0)


def test_drying_after_cooking_may_be_left_out_of_the_share():
    time, t, air = hold(600.0, 140.0, 0.2, samples=601)
    air[time <= 4500.0] = 0.95
    whole = table_compliance(time, t, air, MEAT_COLUMN, HUMID)
    cooked = table_compliance(time, t, air, MEAT_COLUMN, HUMID, cooking_end_s=7200.0)
    assert not whole.fulfilled
    assert cooked.fulfilled
    assert cooked.humid_share == pytest.approx(4500.0 / 7200.0)


def test_humid_air_throughout_has_no_least_time_and_forgives_no_dry_air():
    time, t, air = hold(30.0, 140.0, 0.95, samples=31)
    short = table_compliance(time, t, air, MEAT_COLUMN, THROUGHOUT)
    assert short.fulfilled
    assert short.humid_time_s == pytest.approx(12 * 60.0)  # until the time of the table was gathered
    assert not table_compliance(time, t, air, MEAT_COLUMN, HUMID).fulfilled  # less than an hour
    air[time > 900.0] = 0.2  # drying after that
    assert table_compliance(time, t, air, MEAT_COLUMN, THROUGHOUT).fulfilled
    air[3] = 0.85
    assert not table_compliance(time, t, air, MEAT_COLUMN, THROUGHOUT).fulfilled


def test_the_better_option_is_told():
    time, t, air = hold(30.0, 140.0, 0.95, samples=31)
    both = [table_compliance(time, t, air, MEAT_COLUMN, rule) for rule in (HUMID, THROUGHOUT)]
    assert best_compliance(both).rule is THROUGHOUT
    assert best_compliance(both[:1]).rule is HUMID


@pytest.mark.parametrize(("hours", "met"), [(5.9, True), (6.1, False)])
def test_six_hours_of_come_up_and_no_longer(hours, met):
    warm = np.arange(0.0, hours * 3600.0, 60.0)
    time = np.append(warm, warm[-1] + np.arange(60.0, 7200.0, 60.0))
    t = np.where(time <= warm[-1], 303.15, float(kelvin(140.0)))
    got = table_compliance(time, t, np.full_like(t, 0.95), MEAT_COLUMN, HUMID)
    assert got.fraction > 1.0
    assert got.humidity_met
    assert got.come_up_s == pytest.approx(hours * 3600.0, abs=61.0)
    assert got.come_up_met is met
    assert got.fulfilled is met


def test_come_up_begins_with_the_warmest_place_and_ends_with_the_cooking():
    time = np.arange(0.0, 4 * 3600.0, 60.0)
    coldest = np.where(time < 3600.0, 280.0, float(kelvin(140.0)))
    warmest = np.full_like(time, 320.0)
    one = table_compliance(
        time, coldest, np.full_like(time, 0.95), MEAT_COLUMN, THROUGHOUT, warmest_K=warmest
    )
    assert one.come_up_s == pytest.approx(3600.0, abs=61.0)
    cool = np.where(time > 3 * 3600.0, 300.0, coldest)  # cooling after the table's time was gathered
    again = table_compliance(time, cool, np.full_like(time, 0.95), MEAT_COLUMN, THROUGHOUT, warmest_K=warmest)
    assert again.come_up_s == pytest.approx(3600.0, abs=61.0)


@pytest.mark.parametrize("version", ["option 1, steam", "option 2, sealed oven"])
def test_steam_and_sealed_oven_go_by_their_own_record(version):
    time, t, air = hold(100.0, 150.0, 0.1, samples=101)
    with pytest.raises(InputError, match="give `switch`"):
        table_compliance(time, t, air, MEAT_COLUMN, RULES[version])
    # half of the time, and an hour at the least
    for on, met in ((3000.0, False), (3600.0, True)):
        got = table_compliance(time, t, air, MEAT_COLUMN, RULES[version], switch=time <= on)
        assert got.fulfilled is met
    cool = np.full_like(t, float(kelvin(144.9)))
    got = table_compliance(time, cool, air, MEAT_COLUMN, RULES[version], switch=np.ones(101, dtype=bool))
    assert got.fraction == 0.0  # both ask for 145 degF


def test_nothing_counts_below_the_coolest_row_and_warming_is_exact():
    cold = table_compliance(*hold(6000.0, 129.9, 0.99), MEAT_COLUMN, HUMID)
    assert cold.fraction == 0.0
    # 130 to 131 degF in two samples: between two rows log time is linear, so the sum has a closed form.
    time, air = np.array([0.0, 6000.0]), np.array([0.95, 0.95])
    got = table_compliance(time, kelvin([130.0, 131.0]), air, MEAT_COLUMN, HUMID)
    slow, fast = 1.0 / 6720.0, 1.0 / 5340.0
    assert got.fraction == pytest.approx(6000.0 * (fast - slow) / np.log(fast / slow), rel=1e-6)


def test_statements_name_their_limits():
    got = table_compliance(*hold(60.0, 140.0, 0.95), MEAT_COLUMN, HUMID)
    text = " ".join(table_cautions(got.rule))
    for word in ("Salmonella", "L. monocytogenes", "p. 13"):
        assert word in text
    assert "30 %" not in text
    assert "30 %" in " ".join(table_cautions(dataclasses.replace(HUMID, signal="steam")))
