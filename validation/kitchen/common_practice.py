"""Common practice, no source: what people who dry meat at home expect, against the package's own appliances.

Nothing is tuned to it. Where the model misses, the table of sensitivities in the report shows which parameter decides
within its published range.
"""

from collections.abc import Callable

import numpy as np

from dryingsim.judge.doneness import judge_batch
from dryingsim.model.surroundings import trays_needed
from validation.case import Case, Listing, Plot, Result
from validation.kitchen.kitchen_runs import (
    CABINET,
    COMMON,
    DONE,
    FAN,
    HOUR,
    OWN,
    STACK,
    STILL,
    at_hours,
    hours_to,
    kitchen,
    varied_hours,
    wettest,
)

NO_SOURCE = "common practice, no source"
BASE = "0.7 kg, 5 mm slices"
OVEN = (
    "air of 93 degC on both faces dries 5 mm in 2 h whatever the oven's parameters, 1.1 to 3.4 h with all that is uncertain; "
    "a drier end (0.75) makes that half as long again, a closed sheet under the slices more (table of sensitivities): custom "
    "dries on sheets, or to a drier end, or its oven is cooler than its mark"
)
ADVICE = "the advice itself is a window this wide"


def done(appliance: str) -> Callable[[bool], Result]:
    def compute(full: bool) -> Result:
        history = kitchen(appliance, full)
        plot = Plot(
            title=f"{appliance}: {BASE}",
            x_label="hours",
            y_label="water activity of the wettest slices",
            points=(("target", np.array([hours_to(history)]), np.array([DONE])),),
            lines=(("package", history.time_s / HOUR, wettest(history)),),
        )
        listings = (sensitivities(appliance),) if full and appliance in OWN else ()
        return Result(hours_to(history), (plot,), listings)

    return compute


def sensitivities(appliance: str) -> Listing:
    """Hours until done with one parameter at either end of its range, the widest effect first."""
    base = hours_to(kitchen(appliance, True))
    rows = []
    for name, place, ends in (*COMMON, *OWN[appliance]):
        hours = [varied_hours(appliance, place, value, True) for value in ends]
        effect = np.nanmax(np.abs(np.log(np.array(hours) / base)))
        rows.append((effect, (name, *(f"{h:.2f}" for h in hours), f"x {np.exp(effect):.2f}")))
    rows.sort(key=lambda row: -row[0])
    head = ("changed", "first, h", "second, h", "largest effect")
    return Listing(f"{appliance}: hours until done, base {base:.2f} h", (head, *(cells for _, cells in rows)))


def inside_window(appliance: str, custom_h: tuple[float, float]) -> Callable[[bool], Result]:
    """How far the ends of a customary range lie inside the window of done [h]; negative outside."""

    def compute(full: bool) -> Result:
        window = judge_batch(kitchen(appliance, full)).doneness.batch
        early, late = (np.nan if end is None else end / HOUR for end in (window.earliest_s, window.latest_s))
        listing = Listing(
            f"{appliance}: custom and window",
            (
                ("custom, h", "nine times in ten, h"),
                ("{:g}-{:g}".format(*custom_h), f"{early:.1f}-{late:.1f}"),
            ),
        )
        return Result(np.array([custom_h[0] - early, late - custom_h[1]]), (), (listing,))

    return compute


def first_look(full: bool) -> float:
    """When the package suggests a first look at slices of 4, 5 and 6 mm [h]."""
    mixed = [{"value": f"{t} mm", "share": s} for t, s in ((4, "25 %"), (5, "50 %"), (6, "25 %"))]
    history = kitchen(STACK, full, (("meat.thickness", Frozen(mixed)),))
    found = judge_batch(history).doneness.first_look_s
    return np.nan if found is None else found / HOUR


class Frozen(list):
    """A list that can be part of the key of a cache."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(repr(self))


def half_an_hour(full: bool) -> np.ndarray:
    """Fall of the water activity in half an hour of slices that are still juicy (0.89)."""
    falls = []
    for appliance in (STACK, CABINET):
        history = kitchen(appliance, full)
        falls.append(0.89 - at_hours(history, hours_to(history, 0.89) + 0.5))
    return np.array(falls)


def room_on_trays(full: bool) -> np.ndarray:
    """Trays that 0.7 kg needs over the trays there are."""
    shares = []
    for appliance in (STACK, CABINET, FAN):
        history = kitchen(appliance, full)
        assert history.batch.appliance is not None
        area, stack = float(history.area_m2.sum()), history.batch.appliance.trays
        shares.append(trays_needed(area, stack.length_m * stack.width_m) / stack.slots)
    return np.array(shares)


def oven_against_dehydrator(full: bool) -> float:
    """Hours in an oven without fan, door ajar 100 mm, over those in a cabinet dehydrator, both at 145 degF."""
    dehydrator = kitchen(CABINET, full, (("stage.air", "145 degF"),))
    return hours_to(kitchen(STILL, full)) / hours_to(dehydrator)


def oven_holds(full: bool) -> float:
    """Mean air temperature before the trays from 30 min to 2 h, oven ajar 100 mm set to 145 degF [degC]."""
    history = kitchen(STILL, full)
    assert history.chamber is not None
    seen = (history.time_s >= 1800.0) & (history.time_s <= 7200.0)
    return float(history.chamber.cell_temperature_K[seen, 0].mean()) - 273.15


def tray_hours(appliance: str, full: bool) -> np.ndarray:
    """Hours until done, tray by tray from the heater on."""
    history = kitchen(appliance, full)
    activity = history.equalised_water_activity
    times = []
    for k in range(activity.shape[1]):
        below = np.flatnonzero(activity[:, k] <= DONE)
        times.append(history.time_s[below[0]] / HOUR)
    return np.array(times)


def rotated(full: bool) -> float:
    """Largest spread of the water activity between trays, rotated hourly, over that of trays left alone."""
    spreads = []
    for changes in ((("trays.rotate_every", "1 h"),), ()):
        activity = kitchen(STACK, full, changes).equalised_water_activity
        spreads.append(float(np.ptp(activity, axis=1).max()))
    return spreads[0] / spreads[1]


def pounds(full: bool) -> float:
    """Share of the raw weight that is left at water activity 0.70."""
    return 1.0 - float(kitchen(STACK, full).weight_loss[-1])


def too_far(full: bool) -> float:
    """Hours until slices crumble: water activity 0.5 (estimate)."""
    history = kitchen(STACK, full, (("stage.until", Condition(water_activity=0.5)),))
    return hours_to(history, 0.501)


class Condition(dict):
    """A table that can be part of the key of a cache."""

    def __hash__(self) -> int:  # type: ignore[override]
        return hash(repr(sorted(self.items())))


def practice(name: str, inputs: str, compute: Callable[[bool], object], **more: object) -> Case:
    values = {"source": NO_SOURCE, "status": "not a source", "slow": True, **more}
    return Case(name=name, kind=6, inputs=inputs, compute=compute, **values)  # type: ignore[arg-type]


FASTER = (
    "at the middle of the published diffusivities the slices are done {}; half that diffusivity, the slowest "
    "laboratory's, or a drier end (0.75) gives about half as long again, the slowest air of the range an eighth (table of "
    "sensitivities)"
)

CASES = [
    *(
        practice(
            f"{appliance}: not done at 3 h",
            f"{BASE}, 155 degF; water activity of the wettest slices",
            lambda full, a=appliance: at_hours(kitchen(a, full), 3.0),
            expected=DONE,
            tolerance=0.0,
            bound="at least",
            reason="above the water activity that counts as done",
        )
        for appliance in (STACK, CABINET)
    ),
    *(
        practice(
            f"{appliance}: done between 4.5 and 7 h",
            f"{BASE}, 155 degF; hours until water activity 0.85",
            done(appliance),
            expected=5.75,
            tolerance=1.25,
            unit="h",
            reason=ADVICE,
            known_failure=FASTER.format(how),
        )
        for appliance, how in ((STACK, "after 4.2 h"), (CABINET, "after 4.0 h"))
    ),
    *(
        practice(
            f"{appliance}: {low:g} to {high:g} h lie inside the window of done",
            f"{BASE}, {setting}; how far either end lies inside the times of nine in ten [h]",
            inside_window(appliance, (low, high)),
            expected=np.zeros(2),
            tolerance=0.0,
            bound="at least",
            unit="h",
            reason="what people see should be likely",
            known_failure=why,
        )
        for appliance, setting, low, high, why in (
            (STACK, "155 degF", 4.5, 7.0, ""),
            (CABINET, "155 degF", 4.5, 7.0, ""),
            (FAN, "200 degF, gap 50 mm", 4.0, 7.0, OVEN),
        )
    ),
    practice(
        "first look at about 4.5 h",
        "stacked dehydrator, 155 degF, slices of 4, 5 and 6 mm; the package's own suggestion",
        first_look,
        expected=4.5,
        tolerance=1.0,
        unit="h",
        reason="'about', and a check too early costs nothing",
        known_failure=FASTER.format("earlier, so the thin ones are worth a look before 3 h"),
    ),
    practice(
        "oven with fan, door ajar: done between 4 and 7 h",
        f"{BASE}, 200 degF, gap 50 mm, on racks; hours until water activity 0.85",
        done(FAN),
        expected=5.5,
        tolerance=1.5,
        unit="h",
        reason=ADVICE,
        known_failure=OVEN,
    ),
    practice(
        "half an hour more when still juicy",
        "both dehydrators at 155 degF; fall of the water activity from 0.89 in half an hour",
        half_an_hour,
        expected=0.045,
        tolerance=0.035,
        reason="worth waiting for (above 0.01, what a meter tells apart), and not past the whole window (0.08)",
    ),
    practice(
        "a home batch of 0.7 kg fits",
        "trays needed over trays there are: two dehydrators, an oven",
        room_on_trays,
        expected=1.0,
        tolerance=0.0,
        bound="at most",
        reason="as many trays as there are",
    ),
    practice(
        "crumbling means too far",
        "stacked dehydrator, 155 degF; hours until water activity 0.5, where dried meat crumbles (estimate)",
        too_far,
        expected=7.0,
        tolerance=0.0,
        bound="at least",
        unit="h",
        reason="later than the window in which it is done",
    ),
    practice(
        "an oven takes about twice as long as a dehydrator with a fan",
        "145 degF; oven without fan, door ajar 100 mm, over cabinet dehydrator",
        oven_against_dehydrator,
        source="county extension pages on oven drying (thermal digest, 5.1)",
        status="read; advice without measurements",
        expected=2.0,
        tolerance=0.5,
        reason="'about'",
        known_failure="with both faces open on a rack the oven's walls make up for its still air, 4.0 h against 4.5 h; on a "
        "closed sheet the same oven takes 2.2 times as long as the dehydrator",
    ),
    practice(
        "an oven ajar holds 60 degC",
        "oven without fan, 145 degF, gap 100 mm; mean air temperature from 30 min to 2 h",
        oven_holds,
        source="county extension pages on oven drying (thermal digest, 5.1): gap of 50-150 mm, 60-63 degC",
        status="read; advice without measurements",
        expected=60.0,
        tolerance=0.0,
        bound="at least",
        unit="degC",
        reason="the lower end of the advice",
    ),
    practice(
        "stack: the tray at the heater is done first",
        "stacked dehydrator, 155 degF; first tray's hours over the slowest tray's",
        lambda full: tray_hours(STACK, full)[0] / tray_hours(STACK, full).max(),
        expected=0.95,
        tolerance=0.0,
        bound="at most",
        reason="a difference one can see: 5 % of the time",
    ),
    practice(
        "cabinet: all trays alike",
        "cabinet dehydrator, 155 degF; first done over last done",
        lambda full: tray_hours(CABINET, full).min() / tray_hours(CABINET, full).max(),
        expected=0.9,
        tolerance=0.0,
        bound="at least",
        reason="within 10 % counts as alike",
    ),
    practice(
        "rotating the trays evens them out",
        "stacked dehydrator, hourly; largest spread of water activity over that without rotation",
        rotated,
        expected=1.0,
        tolerance=0.0,
        bound="at most",
        reason="the direction",
    ),
    practice(
        "four pounds make one",
        "stacked dehydrator, to water activity 0.70; share of the raw weight left",
        pounds,
        source="Colorado State University Extension, handy reference on drying meat",
        status="read",
        expected=0.25,
        tolerance=0.03,
        reason="a rule in whole pounds: 1 in 3.6 to 1 in 4.5",
        known_failure="lean beef with its marinade is 28 % dry matter: a quarter of the weight is less than what cannot "
        "evaporate, unless the trimmings or drippings are counted with the raw weight",
    ),
]
