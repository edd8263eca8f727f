"""What is known by name, cuts of meat and appliances, or by a home test: names first, then numbers with their sources."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from dryingsim.batch.appliance_description import Description, ParameterEntry
from dryingsim.batch.appliance_parameters import PARAMETERS
from dryingsim.batch.catalog.cuts import Cut, source
from dryingsim.batch.compound_units import COMPOUND
from dryingsim.batch.dimensions import DIMENSIONS
from dryingsim.batch.units import from_si
from dryingsim.kitchen.home_tests import Findings
from dryingsim.show.core.document import Document, Sentence, labelled, screen
from dryingsim.show.core.quantities import BTU_H_FT2_F, KitchenUnits, Unit
from dryingsim.show.core.tables import Column, Table

# What a unit of SI comes to in those of an American kitchen, where a compound unit has one.
_US = {
    "volume flow": ("ft3/min", 1.0 / COMPOUND["volume flow"].factors["ft3/min"]),
    "mass flow": ("lb/h", 1.0 / COMPOUND["mass flow"].factors["lb/h"]),
    "area": ("ft2", 1.0 / COMPOUND["area"].factors["ft2"]),
    "volume": ("ft3", 1.0 / COMPOUND["volume"].factors["ft3"]),
    "heat loss": ("Btu/h °F", 1.0 / 0.52753),
    "heat capacity": ("Btu/°F", 1.0 / 1899.1),
    "film": ("Btu/h ft2 °F", BTU_H_FT2_F),
}
_SELDOM = ("DOOR", "WALLS", "MOISTURE", "OTHER")  # groups of numbers that few look up


def cuts_document(known: Sequence[Cut]) -> Document:
    """Return the cuts by name, and their composition as printed."""
    parts = ("water", "protein", "fat", "ash")
    composition = Table(
        [
            Column(("", "cut", ""), [cut.name for cut in known], left=True),
            *(Column(("", name, "%"), [f"{getattr(cut, name):.2f}" for cut in known]) for name in parts),
            Column(("", "NDB", "no."), [f"{cut.ndb:05d}" for cut in known]),
        ],
        [
            f"Raw, percent by weight as printed in the {source()}. The parts sum to 99-101 % there, each analysed on its own; "
            "they are scaled to 100 % on reading."
        ],
        name="composition of the cuts",
    )  # fmt: skip
    groups: dict[str, list[str]] = {}
    for cut in known:
        groups.setdefault(cut.species.upper(), []).append(cut.name)
    return screen(
        "Cuts known by name, for 'cut = ...' in a batch file; all are raw and lean",
        labelled({species: [", ".join(names)] for species, names in groups.items()}),
        {"composition": [composition]},
        lambda: {"source": source(), "cuts": [asdict(cut) for cut in known]},
        None,
    )


def appliances_document(known: Sequence[Description], system: str) -> Document:
    """Return the kinds of appliances."""
    flow = "ft3/min" if system == "us" else "m3/h"
    factor = COMPOUND["volume flow"].factors[flow]
    fresh = [(one.si("air.vents") + one.si("air.leak")) / factor for one in known]
    kinds = Table(
        [
            Column(("", "name", ""), [one.name for one in known], left=True),
            Column(("", "trays", ""), [f"{one.si('trays.slots')}" for one in known]),
            Column(("", "flow", ""), [one.si("air.path") for one in known], left=True),
            Column(("", "heater", "W"), [f"{one.si('heater.power'):.0f}" for one in known]),
            Column(("", "air", flow), [f"{one.si('air.circulation') / factor:.0f}" for one in known]),
            Column(("", "fresh", flow), [f"{value:.3g}" for value in fresh]),
        ],
        [
            "air: past all trays together. fresh: from the room, door shut. Most numbers are estimates; add a NAME to see each."
        ],
        name="kinds of appliances",
    )
    return screen(
        "Appliances known by name, for '[appliance] use = ...' in a batch file",
        [kinds],
        {"what each is": labelled({one.name: [one.about] for one in known})},
        lambda: {"appliances": [_values(one) for one in known]},
        None,
    )


def appliance_document(one: Description, system: str) -> Document:
    """Return the numbers of an appliance, those that tell it from others first."""
    groups: dict[str, list[str]] = {}
    for key, entry in one.entries.items():
        group, _, short = key.rpartition(".")
        span = _span_text(key, entry, system)
        text = f"{short.replace('_', ' ')} {_value_text(key, entry, system)}{f' ({span})' if span else ''}"
        groups.setdefault((group or "other").upper(), []).append(text)
    told = {group: Sentence("; ".join(texts) + ".", group) for group, texts in groups.items()}
    rest = [told.pop(group) for group in _SELDOM if group in told]
    return screen(
        f"{one.name}: {one.about}",
        [*told.values(), 'Change any in a batch file, under [appliance]: heater.power = "600 W".'],
        {
            "door, walls and more": rest,
            "sources": [f"{key}: {entry.source}." for key, entry in one.entries.items()],
        },
        lambda: {"appliances": [_values(one)]},
        None,
    )


def home_test_document(base: Description, findings: Findings, system: str) -> Document:
    """Return what a test found, beside what the description said before it."""
    after = findings.described(base)
    lines = []
    for key in findings.parameters:
        was, now = base.entries.get(key), after.entries[key]
        before = f"; described as {_value_text(key, was, system)} before" if was else ""
        lines.append(f"{key}: {_value_text(key, now, system)} ({_span_text(key, now, system)}){before}")
    return screen(
        f"{findings.test}, {base.name}",
        [*lines, *findings.notes],
        {"how well it is known": _quality(findings, system)},
        lambda: {"appliance": base.name, **asdict(findings)},
        None,
    )


def _quality(findings: Findings, system: str) -> Sequence[str]:
    told, film = [], findings.film
    if film is not None:
        ends = (film.low, film.value, film.high)
        low, value, high = (KitchenUnits(system).film(float(f"{one:.3g}")) for one in ends)
        told.append(f"Heat-transfer coefficient over the pan: {value} ({low} to {high}).")
    if findings.misfit_K is not None:
        name, symbol = ("degF", "°F") if system == "us" else ("K", "K")
        off = float(from_si(findings.misfit_K, name, "temperature difference"))
        told.append(f"The readings lie {off:.2g} {symbol} off the fitted course.")
    return told


def _value_text(key: str, entry: ParameterEntry, system: str) -> str:
    """Return the value of a parameter: as it was typed, or in American units."""
    return _us(PARAMETERS[key].kind, entry.si) or entry.text if system == "us" else entry.text


def _span_text(key: str, entry: ParameterEntry, system: str) -> str:
    """Return the range of a parameter likewise; nothing if none is known. Parameters as for `value_text`."""
    if system != "us" or entry.span_si is None:
        return entry.span_text
    low, high = (_us(PARAMETERS[key].kind, one) for one in entry.span_si)
    return f"{low} to {high}" if low else entry.span_text


def _us(kind: str, si: Any) -> str:
    """Return a quantity in American units; nothing where it has no other than its own."""
    if kind in _US:
        unit, factor = _US[kind]
        return f"{factor * si:.3g} {unit}"
    if kind not in DIMENSIONS or kind in ("duration", "power", "fraction"):
        return ""
    printed = Unit(kind, DIMENSIONS[kind].us)
    return f"{float(printed.value(si)):.3g} {printed.symbol}"


def _values(one: Description) -> dict[str, Any]:
    """Return the parameters of an appliance: value and range in SI where they are numbers, and the source."""
    return {
        "name": one.name,
        "about": one.about,
        "parameters": {
            key: {"value": entry.si, "text": entry.text, "range": entry.span_si, "source": entry.source}
            for key, entry in one.entries.items()
        },
    }
