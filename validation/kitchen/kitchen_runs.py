"""A home batch in the package's own appliances, and what changes its drying time. Nothing is tuned.

Base: 0.7 kg of eye of round in 5 mm slices of 120 x 50 mm with 15 g salt and 12 g sugar per kg (the starting file), a
room of 21 degC and 45 %, all parameters of an appliance at the values of the catalog. "Done" is the water activity
of 0.85 of the wettest slices, evened out. An oven's thermostat is taken as ideal: its cycle of some kelvin is averaged
out, as a run with the cycle costs twenty times as much and ends within a few percent of this.
"""

import copy
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np

from dryingsim.batch.reading.batch_file import parse_document
from dryingsim.history import History
from dryingsim.judge.done_window import first_time_down_to
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.simulate import run

HOUR = 3600.0
NODES = {False: 10, True: 16}
DONE = 0.85
STACK, CABINET = "stacked dehydrator", "cabinet dehydrator"
FAN, STILL = "oven with fan", "oven without fan"
SETTING = {STACK: "155 degF", CABINET: "155 degF", FAN: "200 degF", STILL: "145 degF"}
Changes = tuple[tuple[str, Any], ...]


def document(appliance: str, changes: Mapping[str, Any]) -> dict[str, Any]:
    """A batch file as read, with values at dotted places changed."""
    made: dict[str, Any] = {
        "title": "home batch",
        "appliance": {"use": appliance},
        "meat": {
            "cut": "beef eye of round",
            "form": "sliced",
            "thickness": "5 mm",
            "length": "120 mm",
            "width": "50 mm",
            "weight": "0.7 kg",
        },
        "marinade": {"salt": "15 g/kg", "sugar": "12 g/kg"},
        "room": {"temperature": "21 degC", "humidity": "45 %"},
        "trays": {"support": "mesh"},
        "stage": [
            {
                "name": "drying",
                "air": SETTING[appliance],
                "duration": "24 h",
                "until": {"water_activity": 0.70},
            }
        ],
    }
    if appliance in (FAN, STILL):
        made["appliance"]["heater"] = {"control": "ideal"}
        made["appliance"]["door"] = {"gap": "50 mm" if appliance == FAN else "100 mm"}
    for place, value in changes.items():
        at, *below = place.split(".")
        table = made["stage"][0] if at == "stage" else made.setdefault(at, {})
        for key in below[:-1]:
            table = table.setdefault(key, {})
        table[below[-1]] = copy.deepcopy(value)
    return made


@cache
def kitchen(appliance: str, full: bool, changes: Changes = (), diffusivity: float = 1.0) -> History:
    """Simulate the home batch, down to a water activity of 0.70; `diffusivity` is a factor."""
    law = replace(LEAN_MEAT, reference_m2_s=diffusivity * LEAN_MEAT.reference_m2_s)
    batch = parse_document(document(appliance, dict(changes)), "home batch")
    return run(batch, nodes=NODES[full], interval_s=120.0, diffusivity=law)


def wettest(history: History) -> np.ndarray:
    """Water activity of the wettest slices over the recorded times."""
    return history.equalised_water_activity.max(axis=1)


def hours_to(history: History, water_activity: float = DONE) -> float:
    """Hours until the wettest slices are down to a water activity."""
    found = first_time_down_to(history.time_s, wettest(history), water_activity)
    return np.nan if found is None else found / HOUR


def at_hours(history: History, hours: float) -> float:
    """Water activity of the wettest slices at a time."""
    return float(np.interp(hours * HOUR, history.time_s, wettest(history)))


# What varies between kitchens: the ranges of the catalog, of published diffusivities, and of what people do.
COMMON = (
    ("laboratories' diffusivity x 0.5, x 2", None, (0.5, 2.0)),
    ("thickness -10 %, +10 %", "meat.thickness", ("4.5 mm", "5.5 mm")),
    ("target water activity 0.89, 0.75", "target", (0.89, 0.75)),
    ("salt 5, 30 g/kg", "marinade.salt", ("5 g/kg", "30 g/kg")),
    ("room humidity 20, 80 %", "room.humidity", ("20 %", "80 %")),
    ("load 0.35, 0.9 kg", "meat.weight", ("0.35 kg", "0.9 kg")),
    ("mesh, closed sheet", "trays.support", ("mesh", "sheet")),
)
OWN = {
    STACK: (
        ("air speed 0.15, 0.85 m/s", "appliance.air.speed", ("0.15 m/s", "0.85 m/s")),
        ("vents 4, 15 m3/h", "appliance.air.vents", ("4 m3/h", "15 m3/h")),
        ("circulation 34, 102 m3/h", "appliance.air.circulation", ("34 m3/h", "102 m3/h")),
        ("heater 300, 600 W", "appliance.heater.power", ("300 W", "600 W")),
        ("setting 145, 160 degF", "stage.air", ("145 degF", "160 degF")),
    ),
    FAN: (
        ("air speed 0.5, 2 m/s", "appliance.air.speed", ("0.5 m/s", "2 m/s")),
        ("door gap 20, 150 mm", "appliance.door.gap", ("20 mm", "150 mm")),
        ("draught 0, 0.4 m/s", "appliance.door.draught", ("0 m/s", "0.4 m/s")),
        ("circulation 54, 216 m3/h", "appliance.air.circulation", ("54 m3/h", "216 m3/h")),
        ("radiant share 10, 50 %", "appliance.heater.radiant_share", ("10 %", "50 %")),
        ("setting 170, 200 degF", "stage.air", ("170 degF", "200 degF")),
    ),
}


def varied_hours(appliance: str, place: str | None, value: Any, full: bool) -> float:
    """Hours until done with one thing changed."""
    if place is None:
        return hours_to(kitchen(appliance, full, diffusivity=value))
    if place == "target":
        return hours_to(kitchen(appliance, full), value)
    return hours_to(kitchen(appliance, full, ((place, value),)))
