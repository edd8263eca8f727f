"""What a report assumes, each with its source: read from the batch, the catalogs and the evidence of the constants.

No number and no source is written here a second time: a constant carries its own evidence.
"""

from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from importlib import import_module
from pathlib import Path
from typing import Any

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.catalog import cuts
from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.appliances import known_appliance
from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.batch.catalog.organisms import Species
from dryingsim.batch.learned import KEYS
from dryingsim.batch.reading import appliance_file
from dryingsim.batch.schema import Air, Appliance, Batch, Humidity, Marinade, Stage, Targets
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.constants import STANDARD_PRESSURE, ZERO_CELSIUS
from dryingsim.evidence import Evidence, evidence_of
from dryingsim.history import History
from dryingsim.judge.heat_model import numbers
from dryingsim.model.build import law_of
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity, DiffusivityLaw
from dryingsim.show.core.quantities import LIES, MEDIA, Units, at_least

_SOAKED = "worked out from the ingredients of the batch file (properties.soaking)"
_FILE, _DEFAULT = "batch file", "as the batch file says, or its default"
# what a run stands on, by place in the code, with what it is
_CONSTANTS = (
    ("properties.water_activity", "GAB_MONOLAYER", "water bound by protein, first layer"),
    ("properties.water_activity", "NATIVE_SOLUTES", "the meat's own solutes"),
    ("properties.solutions", "PITZER_BETA0", "salt in solution, first coefficient"),
    ("properties.solutions", "NORRISH_SUCROSE", "sugar in solution"),
    (
        "properties.water_activity",
        "HEAT_SLOPE",
        "heat of sorption: how the water activity rises with temperature",
    ),
    ("properties.shrinkage", "WATER_VOLUME", "volume of water in the meat: the slice shrinks by it"),
    ("model.slab", "WATER_CONDUCTIVITY", "conductivity of water in the meat"),
)
_SEA_LEVEL = "default: sea level, the standard atmosphere"
_REPLACED = {
    "shrinkage": "volume of the slice, in place of those of solid and water together",
    "surface": "surfaces, in place of exchange with the air",
    "film_W_m2K": "heat-transfer coefficient, W/(m² K)",
}
_AT_THE_FACES = (
    ("model.build", "EMISSIVITY", "emissivity of the meat"),
    (
        "properties.forced_convection",
        "LAMINAR_PLATE",
        "moving air along a flat plate: Nu = c Re^(1/2) Pr^(1/3)",
    ),
    ("properties.films", "HORIZONTAL_UNSTABLE", "still air: Nu = c Ra^(1/4), unstable"),
    ("properties.films", "HORIZONTAL_STABLE", "still air: the same, stable"),
)
_IN_APPLIANCES = (
    ("model.surroundings", "PACKING", "share of a tray that slices can cover"),
    ("model.chamber", "FLOOR_VIEW", "share of floor in what the lowest tray sees below"),
    ("model.chamber", "WALL_EMISSIVITY", "emissivity of the walls"),
)
# what the numbers of the heat resistance are, by their place in its file
_RESISTANCE = {
    "resistance.slope": "rise of log10 D with each kelvin cooler",
    "resistance.low": "dry meat: rise of log10 D below about 57 °C",
    "resistance.rise": "dry meat: further rise of log10 D with each kelvin above",
    "resistance.linear": "dry meat: rise of log10 D per unit of water activity lost",
    "resistance.whole": "whole muscle against broth or ground meat: rise of log10 D",
    "resistance.fat": "fat: rise of log10 D",
    "resistance.cure": "cure: rise of log10 D",
    "resistance.ln_width": "dry meat: loss of water activity over which the rise sets in, its logarithm",
    "resistance.hinge": "dry meat: from where the rise grows, above 60 °C",
    "between.laboratory": "laboratories differ in log10 D by (standard deviation)",
    "between.study": "studies differ by",
    "between.matrix": "kinds of meat differ by",
    "between.slope": "the slope differs by",
    "between.dryness": "what dryness does differs by",
    "between.rest": "repeats differ by",
    "slow.mean": "bacteria warmed slowly: rise of log10 D",
    "slow.sd": "bacteria warmed slowly: between studies",
    "limits.coolest_K": "coolest that was measured; less is credited below",
    "limits.cold_slope": "rise of log10 D with each kelvin below that",
    "limits.hottest_K": "hottest that was measured; nothing more is credited above",
    "ceiling.rapid.mean": "most that hot liquid or steam takes in seconds",
    "ceiling.rapid.sd": "most that hot liquid or steam takes: between studies",
    "ceiling.long.mean": "most that anything takes",
    "ceiling.long.sd": "most that anything takes: between studies",
    "lasting.hot_K": "hot liquid or steam: a place is hot from",
    "lasting.z_K": "hot liquid or steam: ten times as long counts as much where it is cooler by",
    "lasting.quick_s": "hot liquid or steam: of a place hot for no longer, most stays that in seconds",
    "lasting.long_s": "hot liquid or steam: of a place hot for so long, most is what anything takes",
    "drying.mean": "taken by drying in hot air besides heat",
    "drying.sd": "taken by drying: between studies",
    "drying.cool_K": "taken by drying: nothing at or below",
    "drying.warm_K": "taken by drying: in full from",
    "drying.fall": "taken by drying: in full once water activity has fallen by",
    "drying.hours_s": "taken by drying: in full after",
    "rapid.depth_m": "how deep in the surface bacteria sit where heating takes seconds",
}
_JUDGED = (("judge.exposed", "_DRIED", "water activity from which its error shrinks toward 1"),)


@dataclass(frozen=True, slots=True)
class Row:
    """One assumption: `what`, how much (`value`), and by whose word (`source`)."""

    what: str
    value: str
    source: str


def assumptions(history: History, description: Description | None = None) -> list[tuple[str, list[Row]]]:
    """Return everything a run assumes, in groups with headings; without a description of the appliance, that of the catalog."""
    batch = history.batch
    diffusivity = _diffusivity_rows(law_of(batch))
    found = [
        ("The batch", _batch_rows(batch)),
        ("The schedule", [_stage_row(number, stage, batch) for number, stage in enumerate(batch.stages, 1)]),
        (
            "How the meat dries",
            [*diffusivity, _activity_row(batch), *_replaced_rows(batch), *_constant_rows(_CONSTANTS)],
        ),
        ("At its faces", _constant_rows(_AT_THE_FACES)),
    ]
    if batch.appliance is not None:
        own = _appliance_rows(batch.appliance, description)
        found.append((f"The appliance: {batch.appliance.name}", [*own, *_constant_rows(_IN_APPLIANCES)]))
    if batch.learned is not None:
        found.append(("Learned from earlier batches", _learned_rows(batch)))
    found.append(
        ("Bacteria", [*_goal_rows(batch.meat.judged_as), *_organism_rows(), *_constant_rows(_JUDGED)])
    )
    return found


def described(document: dict[str, Any], folder: Path) -> Description | None:
    """Return the appliance of a batch file, already read and found right, with the changes made to it there.

    The document is taken apart by a TOML reader; a description of one's own starts in the folder of the file.
    """
    typed = document.get("appliance")
    return None if typed is None else appliance_file.described("[appliance]", typed, folder)


def _both(value: float, kind: str, batch: Batch) -> str:
    """Return a quantity in both systems."""
    first, second = (getattr(Units(batch, system), kind).text(value) for system in ("metric", "us"))
    return f"{first} ({second})"


def _batch_rows(batch: Batch) -> list[Row]:
    meat, room, marinade = batch.meat, batch.room, batch.marinade
    known = cuts.all_cuts().get(meat.name)
    by = _FILE
    if known is not None and known.composition == meat.composition:
        by = f"{cuts.source()}: {known.description}, NDB {known.ndb:05d}; scaled to 100 %"
    parts = ", ".join(
        f"{f.name} {100.0 * getattr(meat.composition, f.name):.1f} %" for f in fields(meat.composition)
    )
    thick = "; ".join(
        f"{_both(one.thickness_m, 'length', batch)}: {100.0 * one.share:.0f} %{LIES[one.lies][0]}"
        for one in meat.classes
    )
    size = f"{_both(meat.length_m, 'length', batch)} by {_both(meat.width_m, 'length', batch)}"
    grams = {"salt": marinade.salt_kg_kg, "sugar": marinade.sugar_kg_kg, "water": marinade.water_kg_kg}
    taken = ", ".join(f"{name} {1000.0 * share:.3g} g" for name, share in grams.items())
    air = f"{_both(room.temperature_K, 'temperature', batch)}, {100.0 * room.relative_humidity:.0f} % relative humidity"
    pressure_by = _FILE if room.pressure_Pa != STANDARD_PRESSURE else _SEA_LEVEL
    return [
        Row("meat", f"{meat.name}, {meat.form}", _FILE),
        Row("composition", parts, by),
        Row("raw thickness, share of the weight", thick, _FILE),
        Row("a slice, along and across the air", size, _FILE),
        Row("raw weight", _both(meat.weight_kg, "weight", batch), _FILE),
        Row("slices laid on at", _both(meat.temperature_K, "temperature", batch), _DEFAULT),
        Row(
            "taken up in the marinade, per kg raw",
            taken,
            "default: nothing" if marinade == Marinade() else _FILE if marinade.soak is None else _SOAKED,
        ),
        Row("room", air, _FILE),
        Row("air pressure", f"{room.pressure_Pa / 1000.0:.1f} kPa", pressure_by),
        Row("slices lie on", batch.support, _DEFAULT),
        Row("long edges of the slices", "dry too, at any width", "computed with the faces"),
        Row("radiation on the slices", *_radiation(batch)),
        Row(
            "counts as dry at a water activity of",
            f"{batch.targets.water_activity:g}",
            _DEFAULT if batch.targets == Targets() else _FILE,
        ),
    ]  # fmt: skip


def _radiation(batch: Batch) -> tuple[str, str]:
    if batch.appliance is not None:
        return "from the walls and the floor of the appliance", "computed with its balance of heat"
    simplified = "simplification: what the slices face is taken to be at the air's temperature"
    return "from surfaces as hot as the air", simplified


def _stage_row(number: int, stage: Stage, batch: Batch) -> Row:
    if stage.dries:
        parts = [_air(stage.air, batch)]
    else:
        parts = [MEDIA[stage.kind].format(at=_both(stage.air.temperature_K, "temperature", batch))]
    if stage.air_end is not None:
        parts.append(f"straight to {_air(stage.air_end, batch)}")
    if stage.duration_s is not None:
        parts.append(f"{'at most ' if stage.until else 'for '}{at_least(stage.duration_s)}")
    if stage.until is not None:
        until = stage.until
        if until.water_activity is not None:
            parts.append(f"until a water activity of {until.water_activity:g}")
        if until.weight_loss is not None:
            parts.append(f"until {100.0 * until.weight_loss:g} % of the weight is gone")
        if until.core_temperature_K is not None:
            parts.append(f"until the core is at {_both(until.core_temperature_K, 'temperature', batch)}")
    if stage.turn:
        parts.append("turned over first")
    if stage.door_gap_m is not None:
        parts.append(f"door ajar by {_both(stage.door_gap_m, 'length', batch)}")
    return Row(f"{number}. {stage.name}", ", ".join(parts), _FILE)


def _air(air: Air, batch: Batch) -> str:
    speed = "" if batch.appliance is not None else f", {air.speed_m_s:g} m/s"
    return f"air {_both(air.temperature_K, 'temperature', batch)}, {_humidity(air.humidity, batch)}{speed}"


def _humidity(humidity: Humidity, batch: Batch) -> str:
    if humidity.kind == "room":
        return "moisture as in the room"
    if humidity.kind == "relative":
        return f"{100.0 * humidity.value:g} % relative humidity"
    return f"{humidity.kind.replace('_', ' ')} {_both(humidity.value, 'temperature', batch)}"


def _diffusivity_rows(law: DiffusivityLaw) -> list[Row]:
    if law != LEAN_MEAT or not isinstance(law, Diffusivity):
        return [Row("diffusivity of water", repr(law), "given in Python, in place of that of lean meat")]
    value = (
        f"{law.reference_m2_s:g} m²/s at {law.temperature_K - ZERO_CELSIUS:.0f} °C and {law.moisture_db:g} kg/kg; "
        f"{law.activation_energy_J_mol / 1000.0:g} kJ/mol; half at {law.half_moisture_db:g} kg/kg; per dry mass"
    )
    between = between_studies()
    return [
        Row(
            "diffusivity of water in lean meat", value, _evidence("properties.diffusivity", "LEAN_MEAT").words
        ),
        Row(
            "drying time, between kitchens",
            f"nine in ten within a factor {between.factor_new_batch:.2g}",
            f"fitted: all published drying at once; {between.rests_on}",
        ),
    ]


def _activity_row(batch: Batch) -> Row:
    own = batch.components.sorption
    if own is not None:
        return Row("water activity", repr(own), "given in Python, in place of that of meat")
    error = activity_error_of(batch)
    return Row(
        f"error of the water activity of {error.words}",
        f"±{error.half_width:.2f}",
        f"fitted: {error.rests_on}",
    )


def _replaced_rows(batch: Batch) -> list[Row]:
    """Rows of what else was given in Python in place of the package's own."""
    replaced = batch.components.replaced
    return [
        Row(what, replaced[name], "given in Python") for name, what in _REPLACED.items() if name in replaced
    ]


def _constant_rows(wanted: Iterable[tuple[str, str, str]]) -> list[Row]:
    rows = []
    for module, name, what in wanted:
        value, evidence = getattr(import_module(f"dryingsim.{module}"), name), _evidence(module, name)
        rows.append(Row(what, _with_unit(f"{value:.4g}", evidence), evidence.words))
    return rows


def _with_unit(value: str, evidence: Evidence) -> str:
    return value if evidence.unit == "-" else f"{value} {evidence.unit}"


def _appliance_rows(appliance: Appliance, description: Description | None) -> list[Row]:
    if description is None:
        known = known_appliance(appliance.name)
        description = known if known is not None and known.appliance("catalog") == appliance else None
    if description is None:
        return [*_field_rows("", appliance)]
    rows = []
    for key, entry in description.entries.items():
        span = f" ({entry.span_text})" if entry.span_text else ""
        rows.append(Row(key.replace("_", " "), f"{entry.text}{span}", entry.source))
    return rows


def _field_rows(prefix: str, thing: object) -> Iterable[Row]:
    """Yield the numbers of a dataclass, where nothing more is known of them."""
    for field in fields(thing):  # type: ignore[arg-type]
        value = getattr(thing, field.name)
        if is_dataclass(value):
            yield from _field_rows(f"{field.name} ", value)
        elif field.name != "name":
            yield Row(
                f"{prefix}{field.name}".replace("_", " "), "-" if value is None else f"{value}", "own value"
            )


def _learned_rows(batch: Batch) -> list[Row]:
    learned = batch.learned
    assert learned is not None
    by = f"logs: {', '.join(learned.logs)}"
    return [
        Row(KEYS[key].words, f"{one.value:+.3g} ± {one.uncertainty:.2g} (factors as logarithms)", by)
        for key, one in learned.corrections.items()
    ]


def _goal_rows(species: Species) -> list[Row]:
    goals = [(name, catalog.target(key, species)) for key, name in catalog.organisms().items()]
    return [
        Row(f"required in {species}: {name}", f"{one.log10:g} log10", one.guideline) for name, one in goals
    ]


def _organism_rows() -> list[Row]:
    of_raw_meat = {
        f"resistance.{key}": f"log10 of D in minutes at 60 °C: {name}"
        for key, name in catalog.organisms().items()
    }
    names = of_raw_meat | _RESISTANCE
    return [
        Row(names[one.name], _with_unit(f"{one.value:.4g}", one.evidence), one.evidence.words)
        for one in numbers()
    ]


def _evidence(module: str, name: str) -> Evidence:
    return evidence_of(import_module(f"dryingsim.{module}"), name)
