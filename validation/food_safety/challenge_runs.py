"""Published challenge studies of dried meat through the simulator: log reductions of three bacteria.

**One rule for all that a paper leaves open.** Slices or formed strips 6 mm thick, 120 mm long and 30 mm wide, both
faces open, 4 degC at the start; eye of round, or minced beef 95/5 where formed (80/20 where the study says 20 % fat);
15 g salt per kg where marinated, seasoned or cured, otherwise none. The air at the slices has the temperature that is
printed and moves at 1 m/s; its moisture is that of a room of 21 degC and 45 %, unless a humidity is printed; a range
"start -> end" is a straight line. Hours not printed: 10 h of traditional drying, 4 h at 76.7 degC after a first stage.
"Heated first" is boiling liquid until the middle is at 71.1 degC for slices, and an oven of 149 degC (300 degF) for
formed strips, which fall apart in liquid. Where a study covers several temperatures and says that none sufficed, the
hottest is taken. An oven after drying is at 135 degC for 10 min; after "4 or 6 h" both are run and the mean is taken.

**What is compared.** A count sees the mean survivors: over both faces on whole muscle, over the depth in formed meat.
More than 7.3 log was found by nobody, and where the inoculum is printed, not more than that.

**The split.** Studies of drying in dry air with a printed number, in order of year (then name), go to fit and to check
in turn: 1996 fit, 1997 check, 1998 fit, 2001 check, ... Only the two numbers of the drying term are fitted, by least
squares on the distance from the printed value or range. A kill in proportion to the fall of water activity was tried as
well and left the fitted rows at an rms of 1.7 log, the saturating one at 0.9. All other studies (humid, heated first,
ovens) are checks, with exceptions that are shown as fitted: with the oven steps in view, dry z was made common to
all organisms and D held from 99 degC, not 90; with slices heated first in view, the cautious D is held from 84 degC;
with the smokehouse in view, the error of the water activity shrinks towards raw meat.

Not used: acid treatments, inoculation after drying, surrogates, S. aureus, high pressure, 10 degC, ovens at 204 degC
without a printed time, and rows without a number.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
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
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.hot_liquid import HeatedFirst, heat_in_liquid, temperatures_in_liquid
from dryingsim.judge.lethality import desiccation_reductions, log_reductions
from dryingsim.judge.reductions import drier_side, exposed_nodes
from dryingsim.kernels.grid import clustered_nodes, control_volumes
from dryingsim.simulate import run
from validation.data import table

HOUR = 3600.0
TABLE = table("lethality_challenge_studies")
ROWS = {int(row["row"]): row for row in TABLE.rows}
NODES, INTERVAL = {False: 12, True: 24}, {False: 60.0, True: 30.0}
LARGEST = 7.3  # log10: the largest reduction that any of the studies reports
INOCULUM = {"Harrison1997": 6.0}  # log10 per g, where it is printed and limits what can be seen
WITHIN, BIAS, SHARE = (
    2.0,
    0.7,
    0.7,
)  # set before the fit; repeated runs of one schedule differ by 2-3 log between laboratories
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


@cache
def in_liquid(seconds: float | None, full: bool) -> Record:
    """Slices in boiling liquid for a time, or until their middle is at 71.1 degC; nothing after."""
    condition = Condition((stage(60.0, 1.0),))
    batch, nodes = condition.batch, NODES[full]
    if seconds is None:
        first = heat_in_liquid(batch, 344.26, liquid_K=373.15, nodes=nodes)
        time, t = first.time_s, first.temperature_K
    else:
        time = np.arange(0.0, seconds + 0.5, 0.5)
        t = temperatures_in_liquid(batch, time, 373.15, nodes=nodes)
    a = record(WHOLE_60, full).water_activity[0]
    return Record(condition, time, t[..., 0], np.broadcast_to(a, t.shape[:2]))


def counted(rec: Record, reductions: np.ndarray) -> float:
    """Log10 reduction of the mean survivors, as a count sees it, from reductions (n,) at the nodes."""
    n = reductions.size
    where = exposed_nodes(rec.condition.form, n)
    share = control_volumes(clustered_nodes(n)) if where.size == n else np.array([0.5, 0.5])
    least = reductions[where].min()
    return float(least - np.log10(share @ 10.0 ** (least - reductions[where])))


def central(rec: Record, organism: str, index: int = -1, term: catalog.Desiccation | None = None) -> float:
    """Counted log10 reduction of the central estimate."""
    heat = log_reductions(rec.time_s, rec.temperature_K, rec.water_activity, organism, "central")[index]
    return counted(rec, heat + desiccation_reductions(rec.temperature_K, rec.water_activity, term)[index])


def cautious(rec: Record, organism: str, index: int = -1) -> float:
    """Counted log10 reduction of the cautious estimate."""
    drier = drier_side(rec.water_activity)
    return counted(rec, log_reductions(rec.time_s, rec.temperature_K, drier, organism, "cautious")[index])


def worst_cautious(rec: Record, organism: str) -> float:
    """The cautious estimate at the worst place, which decides a verdict."""
    where = exposed_nodes(rec.condition.form, rec.temperature_K.shape[1])
    drier = drier_side(rec.water_activity)
    return float(log_reductions(rec.time_s, rec.temperature_K, drier, organism, "cautious")[-1][where].min())


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
FIT, CHECK = STUDIES[::2], STUDIES[1::2]


def organism(row: int) -> str:
    return ORGANISM[ROWS[row]["pathogen"]]


def printed(row: int) -> tuple[float, float]:
    """Lowest and highest reduction a row allows, capped at what could be seen."""
    entry = ROWS[row]
    low, high = (float(entry[f"log_reduction_{end}"] or np.nan) for end in ("low", "high"))
    return (-np.inf if np.isnan(low) else low), (np.inf if np.isnan(high) else high)


def predicted(row: int, full: bool, term: catalog.Desiccation | None = None) -> float:
    """Counted central reduction of a row, capped at what could be seen."""
    condition, hours = (DRYING | PROCESSES)[row]
    rec = record(condition, full)
    cap = INOCULUM.get(ROWS[row]["study"], LARGEST)
    return min(central(rec, organism(row), rec.index(hours), term), cap)


def miss(row: int, full: bool, term: catalog.Desiccation | None = None) -> float:
    """Distance of the prediction from the printed value or range, signed."""
    value = predicted(row, full, term)
    return value - float(np.clip(value, *printed(row)))


def rows_of(studies: tuple[str, ...], form: str = "") -> list[int]:
    return [
        r for r in DRYING if ROWS[r]["study"] in studies and (not form or is_whole(r) == (form == "whole"))
    ]


def is_whole(row: int) -> bool:
    return ROWS[row]["product_form"] == "whole_muscle"


@cache
def fitted(full: bool) -> catalog.Desiccation:
    """The drying term fitted again on the studies that are for fitting."""
    from scipy.optimize import least_squares

    rows = rows_of(FIT)
    own = catalog.desiccation()
    states = []
    for row in rows:
        condition, hours = DRYING[row]
        rec = record(condition, full)
        i = rec.index(hours)
        heat = log_reductions(rec.time_s, rec.temperature_K, rec.water_activity, organism(row), "central")[i]
        states.append((rec, i, heat, printed(row)))

    def term(x: np.ndarray) -> catalog.Desiccation:
        return replace(own, largest=float(x[0]), fall_width=float(x[1]))

    def misses(x: np.ndarray) -> list[float]:
        found = []
        for rec, i, heat, ends in states:
            drying = desiccation_reductions(rec.temperature_K, rec.water_activity, term(x))[i]
            value = counted(rec, heat + drying)
            found.append(value - float(np.clip(value, *ends)))
        return found

    return term(least_squares(misses, [4.0, 0.1]).x)
