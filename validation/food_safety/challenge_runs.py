"""Published challenge studies of dried meat through the simulator: log reductions of three bacteria.

**One rule for all that a paper leaves open.** Slices or formed strips 6 mm thick, 120 mm long and 30 mm wide, both
faces open, 4 degC at the start; eye of round, or minced beef 95/5 where formed (80/20 where the study says 20 % fat);
15 g salt per kg where marinated, seasoned or cured, otherwise none. The air at the slices has the temperature that is
printed and moves at 1 m/s; its moisture is that of a room of 21 degC and 45 %, unless a humidity is printed; a range
"start -> end" is a straight line. Hours not printed: 10 h of traditional drying, 4 h at 76.7 degC after a first stage.
"Heated first" is boiling liquid until the middle is at 71.1 degC for slices, and an oven of 149 degC (300 degF) for
formed strips, which fall apart in liquid. Where a study covers several temperatures and says that none sufficed, the
hottest is taken. An oven after drying is at 135 degC for 10 min; after "4 or 6 h" both are run and the mean is taken.

**What is compared.** The judgement of the package at the least-reduced place: its lower bound and its best estimate. The
same rows carry the drying term and the ceiling of rapid heating (`validation.fits.heat`): they are no independent check. Its
report judges every study from the others.

Not used: acid treatments, inoculation after drying, surrogates, S. aureus, high pressure, 10 degC, ovens at 204 degC
without a printed time, and rows without a number.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from dryingsim.batch.catalog.cuts import all_cuts, normalised
from dryingsim.batch.schema import (
    Air,
    Batch,
    Form,
    Humidity,
    Marinade,
    Meat,
    Room,
    Stage,
    ThicknessClass,
    Until,
)
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.exposed import Exposed, drier_side
from dryingsim.judge.heat_resistance import Reduction
from dryingsim.judge.hot_liquid import InLiquid
from dryingsim.simulate import run
from validation.data import table
from validation.dipped_slices import HeatedFirst, heat_in_liquid, temperatures_in_liquid

HOUR = 3600.0
TABLE = table("lethality_challenge_studies")
ROWS = {int(row["row"]): row for row in TABLE.rows}
NODES, INTERVAL = {False: 12, True: 24}, {False: 60.0, True: 30.0}
LARGEST = 7.3  # log10: the largest reduction that any of the studies reports
INOCULUM = {"Harrison1997": 6.0}  # log10 per g, where it is printed and limits what can be seen
WITHIN = 2.0  # log10: repeated runs of one schedule differ by 2-3 log between laboratories
ORGANISM = {"Salmonella": "salmonella", "E. coli O157:H7": "e_coli", "L. monocytogenes": "listeria"}
ROOM_AIR = Humidity(kind="room")


def stage(
    celsius: float,
    hours: float | None,
    humidity: Humidity = ROOM_AIR,
    *,
    to: tuple[float, Humidity] | None = None,
    until: Until | None = None,
) -> Stage:
    def air(t: float, h: Humidity) -> Air:
        return Air(temperature_K=t + ZERO_CELSIUS, humidity=h, speed_m_s=1.0)

    return Stage(
        name=f"{celsius:g} degC",
        air=air(celsius, humidity),
        air_end=air(*to) if to else None,
        duration_s=None if hours is None else hours * HOUR,
        until=until,
    )


@dataclass(frozen=True)
class Condition:
    """What one simulation needs; several rows share it."""

    stages: tuple[Stage, ...]
    form: Form = "sliced"
    salt: float = 0.015
    fatty: bool = False
    heated_first: bool = False

    @property
    def batch(self) -> Batch:
        """The batch by the rule at the head of this module."""
        cut = "minced beef 95/5" if self.form == "minced" else "beef eye of round"
        fatty = normalised(61.9, 17.2, 20.0, 0.0, 0.9)  # minced beef 80/20, food table, from memory
        return Batch(
            name="challenge study",
            meat=Meat(
                name=cut,
                composition=fatty if self.fatty else all_cuts()[cut].composition,
                form=self.form,
                classes=(ThicknessClass(thickness_m=0.006, share=1.0),),
                length_m=0.12,
                width_m=0.03,
                weight_kg=0.5,
                temperature_K=277.15,
            ),
            marinade=Marinade(salt_kg_kg=self.salt),
            room=Room(temperature_K=294.15, relative_humidity=0.45),
            stages=self.stages,
        )


@dataclass(frozen=True)
class Record:
    """Times [s], temperature [K] and water activity (t, n) of a run, heating in liquid included."""

    condition: Condition
    time_s: np.ndarray
    temperature_K: np.ndarray
    water_activity: np.ndarray

    def index(self, hours: float | None) -> int:
        """Index of a time; the end if None."""
        return -1 if hours is None else int(np.searchsorted(self.time_s, hours * HOUR - 1.0))


@cache
def record(condition: Condition, full: bool) -> Record:
    """Simulate a condition."""
    batch, first = condition.batch, None
    interval = INTERVAL[full]
    if condition.heated_first:
        first = heat_in_liquid(batch, 344.26, liquid_K=373.15, nodes=NODES[full])
        batch = replace(batch, meat=replace(batch.meat, temperature_K=first.mean_K))
        interval = 10.0
    history = run(batch, nodes=NODES[full], interval_s=interval)
    time, t, a = history.time_s, history.temperature_K[..., 0], history.water_activity[..., 0]
    if first is not None:
        time, t, a = _joined(first, time, t, a)
    return Record(condition, time, t, a)


def _joined(
    first: HeatedFirst, time: np.ndarray, t: np.ndarray, a: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    before = first.temperature_K[..., 0]
    return (
        np.concatenate([first.time_s - first.time_s[-1], time]),
        np.concatenate([before, t]),
        np.concatenate([np.broadcast_to(a[0], before.shape), a]),
    )


def judged(condition: Condition, organism: str, full: bool, hours: float | None = None) -> Reduction:
    """Return what the package judges of a condition, up to a time or to its end."""
    rec = record(condition, full)
    stop = None if hours is None else rec.index(hours) + 1
    before = rec.time_s <= 0.0 if condition.heated_first else np.zeros(rec.time_s.size, dtype=bool)
    time, t, a = (v[:stop][~before[:stop]] for v in (rec.time_s, rec.temperature_K, rec.water_activity))
    a = np.minimum(a, 1.0)[..., None]
    liquid = in_liquid(rec.time_s[before], rec.temperature_K[before], a[0]) if before.any() else None
    drier = drier_side(a, activity_error_of(condition.batch).half_width)
    arrays = (time, t[..., None], a, drier)
    return Exposed.of(arrays, condition.form, drying=True, in_liquid=liquid).reduction(organism)


def in_liquid(time: np.ndarray, temperature: np.ndarray, activity: np.ndarray) -> InLiquid:
    """Return what happened in liquid, temperatures (t, n), as the package takes it."""
    return InLiquid(
        time_s=time,
        temperature_K=temperature[..., None],
        water_activity=activity,
        drier_water_activity=drier_side(activity),
        thickness_m=np.array([0.006]),
    )


def boiled(seconds: float, organism: str, full: bool) -> Reduction:
    """Return what the package judges of slices in boiling liquid for a time, nothing after."""
    time = np.arange(0.0, seconds + 0.5, 0.5)
    t = temperatures_in_liquid(WHOLE_60.batch, time, 373.15, nodes=NODES[full])[..., 0]
    a = record(WHOLE_60, full).water_activity[:1, :, None]
    arrays = (np.zeros(1), t[-1:, :, None], a, drier_side(a))
    return Exposed.of(arrays, "sliced", drying=True, in_liquid=in_liquid(time, t, a[0])).reduction(organism)


def relative(share: float) -> Humidity:
    return Humidity(kind="relative", value=share, measured=True)


def wet_bulb(celsius: float) -> Humidity:
    return Humidity(kind="wet_bulb", value=celsius + ZERO_CELSIUS, measured=True)


def formed(*stages: Stage, **other: bool) -> Condition:
    return Condition(stages, form="minced", **other)


def hot_end(*stages: Stage) -> Condition:
    return Condition((*stages, stage(76.7, 4.0)))


def smokehouse(hours: float, salt: float) -> Condition:
    return Condition((stage(80.7, hours, relative(0.631), to=(80.7, relative(0.209))),), salt=salt)


WHOLE_60, PLAIN_60 = Condition((stage(60.0, 10.0),)), Condition((stage(60.0, 10.0),), salt=0.0)
WHOLE_62, PLAIN_62 = Condition((stage(62.5, 10.0),)), Condition((stage(62.5, 10.0),), salt=0.0)
WHOLE_68 = Condition((stage(68.3, 10.0),))
FORMED_60 = formed(stage(60.0, 8.0))
OVEN_FIRST = formed(stage(149.0, None, until=Until(core_temperature_K=344.26)), stage(60.0, 8.0))
LIQUID_FIRST = Condition((stage(60.0, 10.0),), heated_first=True)
KANSAS = formed(stage(55.6, 44 / 60, relative(0.10)), stage(77.8, 46 / 60, relative(0.10)))
OVEN_AFTER = formed(stage(62.5, 6.0), stage(135.0, 1 / 6))
OVEN_AFTER_4 = formed(stage(62.5, 4.0), stage(135.0, 1 / 6))
STRIP_OVEN = Condition((stage(60.0, 10.0), stage(135.0, 1 / 6)))
HOLDS = {
    51.7: hot_end(stage(76.7, 1.0, wet_bulb(51.7))),
    54.4: hot_end(stage(76.7, 1.0, wet_bulb(54.4))),
    57.2: hot_end(stage(76.7, 0.5, wet_bulb(57.2))),
    60.0: hot_end(stage(76.7, 1 / 6, wet_bulb(60.0))),
}
RISING = (
    hot_end(stage(21.0, 1.5, to=(76.7, ROOM_AIR))),
    hot_end(stage(48.9, 1.0), stage(54.4, 1.0), stage(60.0, 1.0)),
    hot_end(stage(51.7, None, until=Until(water_activity=0.86))),
)
_FAITH = {(t, fat): formed(stage(t, h), fatty=fat == 20) for t, h, fat in (
    (68.0, 4.0, 5), (68.0, 4.0, 20), (63.0, 8.0, 5), (63.0, 8.0, 20), (57.0, 10.0, 5), (57.0, 16.0, 20),
    (52.0, 10.0, 5), (52.0, 20.0, 20),
)}  # fmt: skip

# row of the table: condition and hours (None: to the end). Drying in dry air, nothing before or after.
DRYING: dict[int, tuple[Condition, float | None]] = {
    **{row: (WHOLE_60, 3.0) for row in (1, 2, 3)},
    **{row: (WHOLE_60, 10.0) for row in (4, 5, 6, 21, 23, 25, 45)},
    **{row: (FORMED_60, 8.0) for row in (13, 14, 16, 17)},
    **dict(zip(range(27, 35), ((condition, None) for condition in _FAITH.values()), strict=True)),
    35: (PLAIN_62, 10.0),
    36: (WHOLE_62, 10.0),
    37: (WHOLE_68, 10.0),
    44: (PLAIN_60, 10.0),
    **{row: (formed(stage(57.2, 4.0)), None) for row in (78, 80)},
    **{row: (formed(stage(68.3, 12.0)), None) for row in (79, 81)},
    **{row: (WHOLE_68, 8.0) for row in (87, 88, 89)},
    **{row: (KANSAS, None) for row in (133, 135)},
}
# Everything else that can be simulated: humid first stages, rising air, smokehouse.
PROCESSES: dict[int, tuple[Condition, float | None]] = {
    **{64 + 2 * k + i: (hold, None) for k, hold in enumerate(HOLDS.values()) for i in (0, 1)},
    **{72 + 2 * k + i: (rise, None) for k, rise in enumerate(RISING) for i in (0, 1)},
    **{
        row: (smokehouse(h, salt), None)
        for k, (h, salt) in enumerate((h, s) for h in (1.5, 2.5, 3.5) for s in (0.0, 0.015))
        for row in range(91 + 3 * k, 94 + 3 * k)
    },
}
STUDIES = tuple(
    dict.fromkeys(ROWS[row]["study"] for row in sorted(DRYING, key=lambda r: (int(ROWS[r]["year"]), r)))
)


def organism(row: int) -> str:
    return ORGANISM[ROWS[row]["pathogen"]]


def printed(row: int) -> tuple[float, float]:
    """Lowest and highest reduction a row allows, capped at what could be seen."""
    entry = ROWS[row]
    low, high = (float(entry[f"log_reduction_{end}"] or np.nan) for end in ("low", "high"))
    return (-np.inf if np.isnan(low) else low), (np.inf if np.isnan(high) else high)


def predicted(row: int, full: bool) -> Reduction:
    """Return what the package judges of a row."""
    condition, hours = (DRYING | PROCESSES)[row]
    return judged(condition, organism(row), full, hours)


def miss(row: int, full: bool) -> float:
    """Distance of the best estimate, capped at what could be seen, from the printed value or range, signed."""
    value = min(predicted(row, full).median, INOCULUM.get(ROWS[row]["study"], LARGEST))
    return value - float(np.clip(value, *printed(row)))


def rows_of(studies: tuple[str, ...], form: str = "") -> list[int]:
    return [
        r for r in DRYING if ROWS[r]["study"] in studies and (not form or is_whole(r) == (form == "whole"))
    ]


def is_whole(row: int) -> bool:
    return ROWS[row]["product_form"] == "whole_muscle"
