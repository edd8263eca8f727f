"""Logs of a thermometer that must not pass, each with the reason why."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property, partial

import numpy as np
import pytest
from made_readings import simulated

from dryingsim.errors import InputError
from dryingsim.judge.federal_table import column_of
from dryingsim.judge.probe import judge_log, judge_probe
from dryingsim.judge.reductions import judge_place
from dryingsim.judge.thermometer_log import read_log
from dryingsim.show.lethality.finding_words import objection, sentence


@dataclass(frozen=True, kw_only=True)
class Hostile:
    """A log that is wrong, why it must not pass, and what the answer has to name."""

    why: str
    text: str | Callable[[], str]  # what takes a simulation is written when it is read
    says: str
    how: dict = field(default_factory=dict)  # arguments of judge_log
    timed: bool = True  # in numbers under a heading with a unit

    @cached_property
    def written(self):
        return self.text if isinstance(self.text, str) else self.text()


def table(meat, step=5.0, aw=0.99, air=None, rh=None, unit="degC", time="time [min]"):
    """Return a log of readings at equal steps; `aw`, `air`, `rh` are numbers or lists, or left out."""
    n = len(meat)
    given = {f"meat [{unit}]": meat, "water_activity": aw, "air [degC]": air, "rh [%]": rh}
    columns = {
        name: values if isinstance(values, list) else [values] * n
        for name, values in given.items()
        if values is not None
    }
    rows = [", ".join([f"{i * step:g}", *(f"{v[i]:.5g}" for v in columns.values())]) for i in range(n)]
    return "\n".join([", ".join([time, *columns]), *rows, ""])


def curve(schedule, thickness, every_s, minutes, start="4 degC"):
    """Return the temperature in the middle of a simulated slice [degC], and the air's, at equal steps."""
    history = simulated(schedule, thickness, start)
    time = np.arange(0.0, min(60.0 * minutes, history.time_s[-1]), every_s)
    middle = history.temperature_K.shape[1] // 2
    meat = np.interp(time, history.time_s, history.temperature_K[:, middle, 0]) - 273.15
    air = np.interp(time, history.time_s, history.air_temperature_K[:, 0]) - 273.15
    return meat, air


def meat_curve(schedule, thickness, every_s, minutes, start="4 degC", fahrenheit=False):
    """Return a log of the meat alone."""
    meat, _ = curve(schedule, thickness, every_s, minutes, start)
    return table(in_fahrenheit(meat) if fahrenheit else meat.tolist(), every_s / 60.0)


def in_fahrenheit(celsius):
    return (1.8 * np.asarray(celsius) + 32.0).round(1).tolist()


WARMING = [4, 20, 29, 35, 41, 47, 52, 55]  # degC every 5 min, as in humid air that is made hot slowly


# ---- degF under a heading of degC
def fahrenheit():
    for schedule, thickness, minutes in (
        ("dry", "3 mm", 60),
        ("dry", "5 mm", 90),
        ("dry", "8 mm", 150),
        ("cool", "3 mm", 60),
        ("cool", "5 mm", 120),
    ):
        yield Hostile(
            why=f"{schedule}, {thickness}: degF headed degC",
            text=partial(meat_curve, schedule, thickness, 120.0, minutes, fahrenheit=True),
            says="degF meant",
        )
    for thickness, minutes in (("4 mm", 90), ("6 mm", 120)):
        yield Hostile(
            why=f"room-warm slices of {thickness} in degF",
            text=partial(meat_curve, "dry", thickness, 120.0, minutes, "20 degC", fahrenheit=True),
            says="degF meant",
        )
    rising = np.linspace(41, 100, 30).tolist()
    yield Hostile(why="41 to 100, never too hot for a degC", text=table(rising), says="degF meant")
    mild = np.linspace(41, 84, 30).tolist()
    late = {"started_warm": "the logger was switched on late"}
    yield Hostile(
        why="degF with a reason typed", text=table(mild), says="nothing tells degC from degF", how=late
    )
    yield Hostile(
        why="all of it in degF, the air too",
        text=table(mild, air=155),
        says="did you mean 155 degF",
        how=late,
    )
    oven = np.linspace(70, 145, 40).tolist()
    dry = np.linspace(0.99, 0.2, 40).tolist()
    yield Hostile(why="70 to 145 with a falling water activity", text=table(oven, aw=dry), says="degF meant")
    yield Hostile(
        why="the same with a reason typed",
        text=table(oven, aw=dry),
        says="boils|nothing tells|keeps wet meat cooler",
        how=late,
    )
    frozen = [24, *np.linspace(28, 96, 30).tolist()]  # meat at -4 degC passes for a cold start
    yield Hostile(why="half frozen meat in degF", text=table(frozen), says="keeps wet meat cooler")
    yield Hostile(
        why="degF without a reason, but dry and hot",
        text=table(
            [24, *np.linspace(30, 140, 40).tolist()], aw=[0.99, *np.linspace(0.99, 0.25, 40).tolist()]
        ),
        says="the air was not logged|keeps wet meat cooler",
    )
    yield Hostile(
        why="room-warm meat in degF", text=table(in_fahrenheit([21, 25, 28, *[30] * 20])), says="degF meant"
    )


# ---- air for meat
def air_for_meat():
    regulated = [68, 70, 69, 68, 70, 69] * 6
    yield Hostile(
        why="the air of a dryer from the first minute", text=table(regulated), says="begins with meat at 68"
    )
    for at in (60, 62, 65, 71, 75, 80):
        yield Hostile(
            why=f"air at {at} from the first minute",
            text=table([at] * 30, 2.0),
            says=f"begins with meat at {at}",
        )
    for step in (2.0, 15.0):
        yield Hostile(
            why=f"the dryer's air with its humidity, every {step:g} min",
            text=table(regulated, step, rh=15),
            says="begins with meat at 68",
        )
    yield Hostile(
        why="the dryer's air in degF, rightly headed",
        text=table(in_fahrenheit(regulated), unit="degF"),
        says="begins with meat at 154.4 degF",
    )
    for step in (1.0, 2.0, 5.0, 10.0):
        yield Hostile(
            why=f"a first reading in the room, then the dryer's air, every {step:g} min",
            text=table([21, *regulated], step),
            says="faster than a slice|between two readings",
        )
    swings = [21, 35, 45, 52, 57, 61, 64, *[66, 70, 68, 65, 69, 71] * 8]
    yield Hostile(why="air that warms with its box and swings", text=table(swings, 2.0), says="swing by")
    box = [21, 35, 45, 52, 57, 61, 64, 66, *[68] * 30]
    yield Hostile(why="one probe read twice", text=table(box, 2.0, air=box), says="as hot as its air")
    near = [t + 0.5 for t in box]
    yield Hostile(
        why="two probes in the air", text=table(box, 2.0, air=near, rh=15), says="as hot as its air"
    )
    yield Hostile(
        why="the probe slipped out of the meat into the air",
        text=table([4, 15, 22, 27, 30, 31, 32, 32, 32, *[69] * 40], 1.0),
        says="between two readings",
    )
    yield Hostile(
        why="the probe slipped out of a thick slice at 50",
        text=table([4, 12, 20, 27, 33, 38, 42, 45, 48, 50, 50, *[68] * 40], 1.0, rh=12),
        says="faster than a slice of 8 mm",
        how={"thickness_m": 8e-3},
    )


# ---- columns of meat and air taken for each other
def swapped_curve(schedule, thickness):
    meat, air = curve(schedule, thickness, 300.0, 300)
    return table(air.tolist(), aw=0.97, air=meat.tolist())


def swapped():
    for schedule, thickness in (("dry", "3 mm"), ("dry", "5 mm"), ("dry", "8 mm"), ("cool", "5 mm")):
        text = partial(swapped_curve, schedule, thickness)
        warm = {"started_warm": "put in warm"}
        yield Hostile(
            why=f"{schedule}, {thickness}: the columns of meat and air swapped",
            text=text,
            says="begins with meat",
        )
        yield Hostile(
            why=f"{schedule}, {thickness}: swapped, with a reason typed",
            text=text,
            says="columns swapped|hotter than its air",
            how=warm,
        )
    box = np.linspace(21, 70, 12).tolist() + [70.0] * 30
    slow = np.linspace(4, 40, 12).tolist() + np.linspace(40, 55, 30).tolist()
    yield Hostile(why="swapped, from a cold start", text=table(box, air=slow), says="columns swapped")
    yield Hostile(
        why="the meat hotter than its air was, for a while",
        text=table([*WARMING, *[58] * 20, *[66] * 10], air=[60] * 38),
        says="hotter than its air",
    )


# ---- slips among honest readings
def slips():
    low = [4, 20, 30, 38, 44, 48, 50, 51, 50, 51, 50, 51, 50, 51, 50, 51]

    def with_slips(at, *values, step=5.0, **more):
        typed = [*low[:at], *values, *low[at + len(values) :]]
        return table(typed[: max(len(low), at + len(values))], step, **more)

    for step in (5.0, 10.0, 15.0):
        yield Hostile(
            why=f"91 twice among 50s, every {step:g} min",
            text=with_slips(8, 91, 91, step=step),
            says="stand out",
        )
    yield Hostile(why="91 once", text=with_slips(8, 91), says="stands out")
    yield Hostile(why="91 three times", text=with_slips(8, 91, 90, 91), says="stand out")
    yield Hostile(why="81 twice", text=with_slips(9, 81, 81), says="stand out")
    yield Hostile(why="71 twice for 51", text=with_slips(9, 71, 71, step=15.0), says="stand out")
    yield Hostile(why="91 twice while it warms", text=with_slips(3, 91, 91), says="stand out")
    yield Hostile(why="91 four times", text=with_slips(8, *[91] * 4), says="rises from|keeps wet meat cooler")
    yield Hostile(
        why="91 to the end", text=with_slips(10, *[91] * 6), says="rises from|keeps wet meat cooler"
    )
    yield Hostile(why="80 to the end", text=with_slips(10, *[80] * 6), says="rises from")
    yield Hostile(
        why="the last two",
        text=with_slips(14, 71, 71, step=15.0),
        says="only 2 readings at 54 degC or hotter",
    )
    yield Hostile(
        why="slips in degF",
        says="stand out",
        text=table(in_fahrenheit([*low[:8], 91, 91, *low[10:]]), unit="degF"),
    )


# ---- too few readings
def few():
    yield Hostile(why="two readings", text=table([20, 75], 15.0), says="only 1 readings|between two readings")
    yield Hostile(why="three readings", text=table([20, 75, 75], 15.0), says="between two readings|only 2")
    yield Hostile(why="four, hot", text=table([20, 50, 74, 74], 15.0), says="only 2 readings")
    yield Hostile(
        why="hot in three of seven", text=table([4, 15, 30, 50, 70, 72, 72], 15.0), says="only 3 readings"
    )
    yield Hostile(why="hot in four", text=table([*WARMING[:7], 70, 72, 72, 72], 12.0), says="only 4 readings")
    yield Hostile(
        why="a bath for a while, two readings",
        text=table([72, 72], 15.0),
        says="only 2 readings",
        how={"started_warm": "in the bath"},
    )


# ---- units of time
def seconds_as_minutes(schedule, thickness, every_s):
    meat, _ = curve(schedule, thickness, every_s, 240 if schedule == "dry" else 40)
    return table(meat.tolist(), every_s)


def minutes_as_hours(thickness):
    meat, _ = curve("humid, then dry", thickness, 10.0, 45)
    rows = [f"{10 * i // 60}:{10 * i % 60:02d}, {t:.1f}, 0.99" for i, t in enumerate(meat)]
    return "\n".join(["time, meat [degC], water_activity", *rows])


def times():
    for schedule, thickness, every_s in (
        ("dry", "5 mm", 10.0),
        ("dry", "8 mm", 5.0),
        ("dry", "3 mm", 10.0),
        ("humid, then dry", "5 mm", 10.0),
        ("humid, then dry", "8 mm", 5.0),
        ("steamy, then dry", "8 mm", 10.0),
    ):
        yield Hostile(
            why=f"{schedule}, {thickness}: seconds headed min",
            text=partial(seconds_as_minutes, schedule, thickness, every_s),
            says="unit of the time",
        )
    for thickness in ("5 mm", "8 mm"):
        yield Hostile(
            why=f"{thickness}: min:s read as h:min",
            text=partial(minutes_as_hours, thickness),
            says="unit of the time",
            timed=False,
        )
    yield Hostile(why="three days", text=table([*WARMING, *[58] * 300], 15.0), says="it lasts 77 h")
    yield Hostile(
        why="wet and hot for a night in a dryer",
        text=table([*WARMING, *[58] * 60], 10.0, rh=15),
        says="hot for 10 h",
    )
    yield Hostile(
        why="wet and hot for a day", text=table([*WARMING, *[58] * 90], 10.0, rh=95), says="hot for 15 h"
    )


# ---- wet meat hotter than it can be, and wetness that nobody saw
def wetness():
    for at in (88, 95, 100):
        yield Hostile(
            why=f"wet meat at {at}",
            text=table([*WARMING, 65, 75, *[at] * 10]),
            says="evaporation keeps wet meat cooler",
        )
    for at in (105, 120, 145):
        yield Hostile(
            why=f"wet meat at {at}", text=table([*WARMING, 65, 75, 85, *[at] * 10]), says="boils before"
        )
    dry = [*[0.99] * 8, *np.linspace(0.99, 0.3, 20).tolist()]
    yield Hostile(
        why="drier and hotter than 100 without a word of the air",
        text=table([*WARMING, *np.linspace(60, 110, 20).tolist()], aw=dry),
        says="keeps wet meat cooler|the air was not logged",
    )
    yield Hostile(
        why="nobody knows how wet it was",
        text=table([*WARMING, *[62] * 30], aw=None),
        says="no water activity",
    )


def cases():
    kinds = (fahrenheit, air_for_meat, swapped, slips, few, times, wetness)
    return [pytest.param(one, id=f"{kind.__name__}: {one.why}") for kind in kinds for one in kind()]


def believed(text):
    """Say what the numbers of a log come to if they are taken as they stand, with straight lines between them."""
    log = read_log(text)
    wet = np.full_like(log.time_s, 0.99) if log.water_activity is None else log.water_activity
    return judge_place(log.time_s, log.temperature_K, wet, "beef").grade


def test_at_least_sixty_would_pass_if_they_were_believed():
    tempting = 0
    for case in cases():
        try:
            tempting += believed(case.values[0].written) == "met"
        except InputError:
            continue
    assert tempting >= 60


@pytest.mark.parametrize("hostile", cases())
def test_a_hostile_log_is_refused_or_not_relied_on(hostile):
    rh = "rh [%]" in hostile.written
    try:
        found = judge_log(
            read_log(hostile.written, "log.csv"), column=column_of("beef") if rh else None, **hostile.how
        )
    except InputError as error:
        told = str(error)
        assert told.startswith("log.csv")
        assert "\n" not in told
    else:
        judged = judge_probe(found, "beef")
        told = "; ".join([*map(objection, found.objections), *map(sentence, found.remarks)])
        assert judged.grade != "met"
        assert found.compliance is None or not found.compliance.fulfilled
    assert any(part in told for part in hostile.says.split("|")), told
