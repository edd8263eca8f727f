"""Slices laid out on trays, as text and as values."""

from dataclasses import asdict
from typing import Any

from dryingsim.answer import Answer
from dryingsim.kitchen.loading import Layout, Loading
from dryingsim.kitchen.marinade import COLD_K
from dryingsim.model.surroundings import PACKING
from dryingsim.show.core.document import Document, labelled, screen
from dryingsim.show.core.quantities import KitchenUnits, clock, count_of, spoken

_WAITING = (
    "Keep the waiting raw meat covered at {cold} or colder, out of the marinade once its time there is up, and take it out "
    "only once its trays are free and washed."
)
_CAUTIONS = (
    "Wash whatever raw meat or its drip touched.",
    "Wash whatever raw meat or its drip touched. How many slices fit is an estimate, and so is the drip. Nothing "
    "here says how long the meat dries, all loads of it, or whether bacteria are reduced: see 'dryingsim run'.",
)
_LONG_WAIT_S = 86400.0
_LATE = (
    "day and more is long: ground meat and poultry keep 1 to 2 days in a refrigerator, whole cuts 3 to 5 (federal "
    "cold-storage chart, from memory), the days since it was bought among them. Freeze what comes later."
)


def loading_document(loading: Loading, system: str, appliance: str | None = None) -> Document:
    """Return what is told of laying out slices; `system` is "metric" or "us"."""
    units = KitchenUnits(system)
    size, told = loading.slices, units.length.text
    area = f"{loading.area_m2 / 0.3048**2:.1f} ft2" if system == "us" else f"{1e4 * loading.area_m2:.0f} cm2"
    low, high = loading.drip_range_kg
    answers = {
        "SLICES": [
            f"{units.weight(size.weight_kg)} of raw meat makes {loading.count} slices of {told(size.length_m)} by "
            f"{told(size.width_m)}, {told(size.thickness_m)} thick, {units.weight(loading.slice_kg)} each; one side of "
            f"them all is {area}."
        ],
        "TRAYS": [] if loading.layout is None else [_trays(loading.layout, loading.count, appliance, units)],
        "DRIP": [
            f"Some {units.weight(loading.drip_kg)} ({units.weight(low)} to {units.weight(high)}; estimate) in the first hour: "
            "put a pan or a sheet below, and let a marinade drain before."
        ],
    }
    return screen(
        "Slices on trays", labelled(answers), {}, lambda: loading_data(loading, appliance), _CAUTIONS
    )


def loads_brief(answer: Answer, system: str) -> list[str]:
    """Return in a line or two how a batch that the trays do not hold is dried; nothing where they hold it."""
    loads, each = answer.loads, answer.load_s
    if loads.count == 1:
        return []
    weight = KitchenUnits(system).weight(loads.one.meat.weight_kg)
    return [
        f"{loads.count} loads of {weight}, one after the other, {spoken(each)} each; the last waits "
        f"{spoken((loads.count - 1) * each)}, cold. What follows is one load."
    ]


def loads_sentences(answer: Answer, system: str) -> list[str]:
    """Return how a batch that the trays do not hold is dried, in words; nothing where they hold it."""
    loads, units, each = answer.loads, KitchenUnits(system), answer.load_s
    if loads.count == 1 or loads.batch.appliance is None:
        return []
    last = (loads.count - 1) * each
    late = f" A {_LATE}" if last > _LONG_WAIT_S else ""
    return [
        f"{loads.count} loads: the trays of the {loads.batch.appliance.name} do not hold "
        f"{units.weight(loads.batch.meat.weight_kg)} at once. Dry it as {loads.count} loads of "
        f"{units.weight(loads.one.meat.weight_kg)}, one after the other, each with its share of every thickness: about "
        f"{spoken(each)} each, {spoken(loads.count * each)} in all, work between them not counted. The last waits "
        f"{spoken(last)}. {_WAITING.format(cold=units.degrees(COLD_K))}{late} All else told here is of one load."
    ]


def load_rows(answer: Answer, system: str) -> list[tuple[str, str, str, str]]:
    """Return each load of a batch that the trays do not hold: which, its raw weight, from when to when; none for a single one."""
    loads, each = answer.loads, answer.load_s
    if loads.count == 1:
        return []
    weight = KitchenUnits(system).weight(loads.one.meat.weight_kg)
    return [
        (f"{number + 1} of {loads.count}", weight, clock(number * each), clock((number + 1) * each))
        for number in range(loads.count)
    ]


def loads_data(answer: Answer) -> dict[str, Any]:
    """Return the loads in SI, for other programs."""
    loads, each = answer.loads, answer.load_s
    raw_kg = loads.one.meat.weight_kg
    return {"count": loads.count, "raw_kg": raw_kg, "each_s": each, "all_s": loads.count * each}


def _trays(layout: Layout, count: int, appliance: str | None, units: KitchenUnits) -> str:
    turned = ", their length across it" if layout.turned else ""
    loads = ""
    rows = "" if layout.in_rows == layout.trays else f"; so laid they take {count_of(layout.in_rows, 'tray')}"
    if layout.loads == 1 and appliance is not None:
        loads = f" That is one load of the {appliance}."
    elif layout.loads is not None and appliance is not None:
        loads = (
            f" That is {layout.loads} loads of the {appliance}, one after the other, each with its share of every "
            f"thickness. {_WAITING.format(cold=units.degrees(COLD_K))}"
        )
    return (
        f"{count} slices take {count_of(layout.trays, 'tray')}, {100.0 * PACKING:.0f} % covered at most, as 'run' "
        f"counts. In rows, {layout.rows} by {layout.across}{turned}, a tray takes {layout.per_tray} of them and is "
        f"{100.0 * layout.cover:.0f} % covered{rows}.{loads}"
    )


def loading_data(loading: Loading, appliance: str | None = None) -> dict[str, Any]:
    """Return the answer in SI, for other programs."""
    data = asdict(loading)
    del data["slices"]["composition"]
    return {"appliance": appliance, **data}
