"""Slices laid out on trays, as text and as values."""

from dataclasses import asdict
from typing import Any

from dryingsim.kitchen.loading import Layout, Loading
from dryingsim.show.core.kitchen_units import KitchenUnits, paragraphs


def loading_text(loading: Loading, system: str, appliance: str | None = None) -> str:
    """Return the answer for laying out slices, in sentences."""
    units = KitchenUnits(system)
    size, told = loading.slices, units.length.text
    area = f"{loading.area_m2 / 0.3048**2:.1f} ft2" if system == "us" else f"{1e4 * loading.area_m2:.0f} cm2"
    said = [
        f"{units.weight(size.weight_kg)} of raw meat makes {loading.count} slices of {told(size.length_m)} by "
        f"{told(size.width_m)}, {told(size.thickness_m)} thick, {units.weight(loading.slice_kg)} each; one face of "
        f"them all is {area}."
    ]
    if loading.layout is not None:
        said.append(_trays(loading.layout, loading.count, appliance))
    low, high = loading.drip_range_kg
    said.append(
        f"Some {units.weight(loading.drip_kg)} ({units.weight(low)} to {units.weight(high)}; estimate) drips off in the "
        "first hour: put a pan or a sheet below, let a marinade drain before, and wash whatever the drip touched."
    )
    return paragraphs(said)


def _trays(layout: Layout, count: int, appliance: str | None) -> str:
    turned = ", their length across it" if layout.turned else ""
    text = (
        f"A tray takes {layout.per_tray} of them, {layout.rows} by {layout.across}{turned}, and is then "
        f"{100.0 * layout.cover:.0f} % covered. {count} slices take {_counted(layout.trays, 'tray')}"
    )
    if layout.trays > 1 and layout.last_tray < layout.per_tray:
        text += f", the last with {layout.last_tray}"
    if layout.by_area != layout.trays:
        text += f"; fitted in by eye it may be {_counted(layout.by_area, 'tray')} (estimate: 80 % covered)"
    text += "."
    if layout.loads is not None and appliance is not None:
        text += (
            f" That is one load of the {appliance}."
            if layout.loads == 1
            else f" That is {layout.loads} loads of the {appliance}, one after the other: keep the rest cold."
        )
    return text


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def loading_data(loading: Loading, appliance: str | None = None) -> dict[str, Any]:
    """Return the answer in SI, for other programs."""
    data = asdict(loading)
    del data["slices"]["composition"]
    return {"appliance": appliance, **data}
