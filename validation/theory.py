"""The tables of the theory page, written from the code: `python -m validation.theory` brings `theory.md` up to date.

The page's words and equations are written by hand. What stands between `<!-- table: NAME -->` and `<!-- end -->` is
replaced by the table of that name: constants with the evidence they carry, settings with the remark beside them in the
code, the numbers of the catalogs with their sources, defaults as the functions have them. So no default can differ from
what is printed.
"""

import ast
import inspect
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import MISSING, fields
from importlib import import_module
from pathlib import Path
from types import ModuleType

import dryingsim
from dryingsim.batch import schema
from dryingsim.batch.catalog import cuts, growth_limits, growth_models, ingredients, organisms, packages
from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.batch.catalog.drying_evidence import KINDS, activity_error, between_studies
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence, constants_of, evidence_of
from dryingsim.judge.heat_model import numbers
from dryingsim.properties import diffusivity, meat
from dryingsim.properties.diffusivity import LABORATORY_SPREAD, LEAN_MEAT
from dryingsim.simulate import run
from validation.remarks import names_of, remarks_in

PAGE = Path(__file__).with_name("theory.md")
PACKAGE = Path(dryingsim.__file__).parent
_TABLE = re.compile(r"(<!-- table: ([a-z ]+) -->\n).*?(<!-- end -->)", re.DOTALL)
_LAW_UNITS = {
    "reference_m2_s": "m2/s",
    "temperature_K": "K",
    "moisture_db": "kg/kg",
    "activation_energy_J_mol": "J/mol",
    "half_moisture_db": "kg/kg",
    "convention": "",
}
# the tables of constants: the modules each is gathered from; a package stands for all its modules
MODULES = {
    "constants": ("constants",),
    "water and air": ("properties.water", "properties.moist_air", "properties.air_transport"),
    "water activity": (
        "properties.solutions",
        "properties.water_activity",
        "properties.sorption",
    ),
    "films": (
        "properties.forced_convection",
        "properties.films",
        "model.faces",
        "model.simple_faces",
        "model.edges",
        "model.boiling",
        "model.air",
        "model.medium",
    ),
    "slab": (
        "model.slab",
        "model.build",
        "properties.meat",
        "properties.shrinkage",
        "properties.cooking_loss",
    ),
    "chamber": (
        "model.chamber",
        "model.thermostat",
        "model.door",
        "model.loaded",
        "model.cycles",
        "model.surroundings",
    ),
    "solver": ("simulate", "model.balances", "model.system", "kernels"),
    "judgement": ("judge",),
    "kitchen": (
        "properties.freezing",
        "properties.packaging",
        "properties.soaking",
        "properties.finite_bath",
        "batch.heating",
        "kitchen",
    ),
    "exploring": ("engine", "explore", "learn", "plan"),
}


def number(value: object) -> str:
    """Print a value as in a table."""
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return str(value)
    return f"{value:.10g}"


def table(head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Return a Markdown table."""
    lines = [head, ["---"] * len(head), *([number(cell).replace("|", "\\|") for cell in row] for row in rows)]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


# --- constants with their evidence ------------------------------------------------------------------------------
def _numbers(value: object) -> str | None:
    """Return a number, or a short run of them, as text; None for anything else.

    Small whole numbers are places in arrays, not parameters.
    """
    if isinstance(value, bool) or (isinstance(value, int) and value < 5):
        return None
    if isinstance(value, (int, float)):
        return number(float(value)) if isinstance(value, float) else number(value)
    if isinstance(value, tuple) and value and all(_numbers(one) is not None for one in value):
        return ", ".join(str(_numbers(one)) for one in value)
    return None


def constants(module: ModuleType) -> Iterator[tuple[str, str, str, str, str, str]]:
    """Yield name, value, unit, range, kind and source of the numbers that a module of the package holds.

    A setting that carries no evidence has the remark beside it for a source. What only follows from other constants,
    without a remark, is left out.
    """
    carried = {constant.name: constant.evidence for constant in constants_of(module)}
    notes = remarks_in(module.__name__.removeprefix("dryingsim."))
    for node in ast.parse(inspect.getsource(module)).body:
        if not isinstance(node, (ast.Assign, ast.AnnAssign)):
            continue
        follows = any(isinstance(one, ast.Name) for one in ast.walk(node.value or node))
        for constant in names_of(node):
            text = _numbers(getattr(module, constant)) if constant.isupper() else None
            if text is None:
                continue
            if constant in carried:
                evidence = carried[constant]
                yield constant, text, evidence.unit, _span(evidence), evidence.kind, evidence.source
            elif notes[constant].own or not follows:
                yield constant, text, "", "", "", notes[constant].own


def modules(names: Iterable[str]) -> Iterator[str]:
    """Yield the names of the modules that a name of `MODULES` stands for."""
    for name in names:
        folder = PACKAGE / name
        if folder.is_dir():
            yield from (
                f"{name}.{path.stem}" for path in sorted(folder.glob("*.py")) if path.stem != "__init__"
            )
        elif (PACKAGE / f"{name.replace('.', '/')}.py").is_file():
            yield name


def constants_table(names: Sequence[str]) -> str:
    """Return the table of the numbers of some modules."""
    rows = [
        (f"`{name}.{constant}`", *cells)
        for name in modules(names)
        for constant, *cells in constants(import_module(f"dryingsim.{name}"))
    ]
    return table(("where", "value", "unit", "range", "kind", "source"), rows)


def _span(evidence: Evidence) -> str:
    return " to ".join(map(number, evidence.range or ()))


# --- catalogs and defaults -----------------------------------------------------------------------------------------------
def diffusivity_table() -> str:
    """Return the default law, with its evidence."""
    rows = [(f"`{f.name}`", getattr(LEAN_MEAT, f.name), _LAW_UNITS[f.name]) for f in fields(LEAN_MEAT)]
    spread = " to ".join(number(one) for one in LABORATORY_SPREAD)
    rows.append(("`LABORATORY_SPREAD`", spread, "factor on `reference_m2_s` between laboratories"))
    evidence = evidence_of(diffusivity, "LEAN_MEAT").source
    quoted = "".join(f"> {line.strip()}  \n" for line in evidence.splitlines())
    return table(("parameter", "value", "unit"), rows) + f"\nWhere they come from:\n\n{quoted}"


def components_table() -> str:
    """Return the polynomials of the food components."""
    properties = {
        "conductivity [W/(m K)]": meat._CONDUCTIVITY,
        "density [kg/m3]": meat._DENSITY,
        "specific heat [J/(kg K)]": meat._SPECIFIC_HEAT,
    }
    rows = [
        (name, component, *row) for name, entries in properties.items() for component, row in entries.items()
    ]
    return table(("property", "component", "c0", "c1", "c2"), rows)


def cuts_table() -> str:
    """Return the composition of the cuts as printed in their source."""
    names = ("water", "protein", "fat", "carbohydrate", "ash")
    rows = [(cut.name, *(getattr(cut, n) for n in names)) for cut in cuts.all_cuts().values()]
    return table(("cut", *(f"{n} [%]" for n in names)), rows) + f"\nSource: {cuts.source()}.\n"


def batch_table() -> str:
    """Return what a batch has where its description is silent."""
    nouns = [noun for noun in vars(schema).values() if inspect.isclass(noun) and hasattr(noun, "__slots__")]
    rows = [
        (f"`{noun.__name__}.{f.name}`", f.default)
        for noun in nouns
        if noun.__module__ == schema.__name__
        for f in fields(noun)
        if f.default is not MISSING and f.default is not None
    ]
    return table(("where", "default (SI)"), rows)


def run_table() -> str:
    """Return the defaults of `run`."""
    given = inspect.signature(run).parameters.values()
    rows = [(f"`{p.name}`", p.default) for p in given if isinstance(p.default, (int, float))]
    return table(("argument of `run`", "default"), rows)


def uncertainties_table() -> str:
    """Return how far each input may be off."""
    rows = [
        (
            one.words,
            f"per {one.level}",
            one.default.shape,
            one.default.size,
            "K" if one.dimension == "temperature difference" else "share" if one.factor else "fraction",
            one.source,
        )
        for one in INPUTS.values()
    ]
    return table(("input", "drawn", "shape", "size", "unit", "source"), rows)


def evidence_table() -> str:
    """Return what all published drying says: how much it differs, and how well a water activity is known."""
    between = between_studies()
    rows: list[tuple[object, ...]] = [
        (
            "diffusivity, kitchen to kitchen",
            f"{between.kitchens:.3g}",
            "scale of the logarithm, Student's t",
            between.rests_on,
        ),
        ("its degrees of freedom", f"{between.degrees_of_freedom:.3g}", "-", between.rests_on),
        ("diffusivity, batch to batch", f"{between.batches:.3g}", "of the logarithm", between.rests_on),
        (
            "diffusivity, slice to slice",
            f"{between.slices:.3g}",
            "of the logarithm",
            "an estimate, no evidence",
        ),
        (
            "a time of a new kitchen's batch",
            f"{between.factor_new_batch:.3g}",
            "factor, nine in ten",
            between.rests_on,
        ),
    ]
    for kind in KINDS:
        error = activity_error(kind)
        rows.append(
            (
                f"water activity, {error.words}",
                f"{error.half_width:.3g}",
                "either way, nine in ten",
                error.rests_on,
            )
        )
    return table(("what", "value", "meaning", "rests on"), rows)


def appliances_table() -> str:
    """Return every parameter of every appliance."""
    parts = []
    for name, described in all_appliances().items():
        rows = [
            (f"`{key}`", entry.text, entry.span_text, entry.source)
            for key, entry in described.entries.items()
        ]
        parts.append(
            f"**{name}**: {described.about}\n\n{table(('parameter', 'value', 'range', 'source'), rows)}"
        )
    return "\n".join(parts)


def organisms_table() -> str:
    """Return the heat resistance of the organisms, the term of drying, the targets."""
    rows = [
        (
            f"`{one.name}`",
            one.value,
            one.evidence.unit,
            _span(one.evidence),
            one.evidence.kind,
            one.evidence.source,
        )
        for one in numbers()
    ]
    targets = [
        (name, species, organisms.target(key, species).log10, organisms.target(key, species).guideline)
        for key, name in organisms.organisms().items()
        for species in organisms.SPECIES
    ]
    return (
        table(("parameter", "value", "unit", "range", "kind", "source"), rows)
        + "\nWhat guidelines ask for:\n\n"
        + table(("organism", "meat", "log10", "guideline"), targets)
    )


def limits_table() -> str:
    """Return the limits of growth and texture."""
    rows = [
        (one.name, one.group, one.water_activity, f"{one.coldest_K - ZERO_CELSIUS:.1f}", one.source)
        for one in growth_limits.organisms()
    ]
    own = growth_limits.texture()
    texture = [
        ("pliable below", own.pliable, " to ".join(map(number, own.pliable_range)), own.pliable_source),
        ("brittle below", own.brittle, " to ".join(map(number, own.brittle_range)), own.brittle_source),
    ]
    mould = growth_limits.visible_mould()
    points = zip(mould.water_activity, mould.soonest_days, mould.latest_days, strict=True)
    return "\n".join(
        (
            table(("organism", "kind", "least water activity", "coldest [degC]", "source"), rows),
            table(("texture", "water activity", "range", "source"), texture),
            table(("water activity", "mould seen, soonest [days]", "latest [days]"), points)
            + f"\nAt 25 degC. Source: {growth_limits._data()['visible_mould']['source']}.\n",
        )
    )


def growth_table() -> str:
    """Return the growth models: what is fastest, the range of each factor, the lag, the limit."""
    rows = []
    for key, name in growth_models.growers().items():
        own = growth_models.growth_model(key)
        warm, wet = own.temperature, own.water_activity
        numbers = (
            f"{letter} {getattr(warm, letter):g}" for letter in ("b", "c", "opt") if getattr(warm, letter)
        )
        rows.append(
            (
                name,
                own.mu_opt,
                f"{warm.law}: {warm.min:g} to {warm.max:g}; {', '.join(numbers)}",
                f"{wet.law}: from {wet.min:g}"
                + (f"; best {wet.opt:g}" if wet.opt else f"; p {wet.p:g}, q {wet.q:g}"),
                f"{own.h0:g} ({own.h0_status})",
                own.source,
            )
        )
    head = ("organism", "mu_opt [1/h]", "temperature [degC]", "water activity", "h0", "source; all read")
    return table(head, rows)


def packages_table() -> str:
    """Return what the packages let through."""
    rows = [
        (
            one.title,
            f"{one.permeance_38C.low:.3g} to {one.permeance_38C.high:.3g}",
            one.activation_energy_J_mol,
            f"{one.leak.low:.3g} to {one.leak.high:.3g}",
            one.air_m3,
            one.source,
        )
        for one in packages.packages().values()
    ]
    head = ("package", "permeance at 38 degC [kg/(m2 s Pa)]", "Arrhenius energy [J/mol]")
    found = table((*head, "leak [kg/(s Pa)]", "air [m3]", "source"), rows)
    return found + f"\nFilms: {packages.source()}.\n"


def ingredients_table() -> str:
    """Return what the ingredients of marinades bring."""
    names = ("water", "salt", "sugar", "acid")
    rows = [
        (one.name, *(f"{getattr(one, n):.3g}" for n in names), one.source.replace("USDA SR28, ", "", 1))
        for one in ingredients.all_ingredients().values()
    ]
    head = ("ingredient", *(f"{n} [kg/kg]" for n in names), "source")
    return table(head, rows) + f"\nNDB: number in the {ingredients.source()}.\n"


TABLES = {
    "diffusivity": diffusivity_table,
    "components": components_table,
    "cuts": cuts_table,
    "batch": batch_table,
    "run": run_table,
    "uncertainties": uncertainties_table,
    "drying evidence": evidence_table,
    "appliances": appliances_table,
    "organisms": organisms_table,
    "limits": limits_table,
    "growth": growth_table,
    "packages": packages_table,
    "ingredients": ingredients_table,
}


def written(name: str) -> str:
    """Return the table of a name."""
    return constants_table(MODULES[name]) if name in MODULES else TABLES[name]()


def updated(page: str) -> str:
    """Return the page with its tables as the code has them now."""
    return _TABLE.sub(lambda match: f"{match[1]}\n{written(match[2])}\n{match[3]}", page)


if __name__ == "__main__":
    PAGE.write_text(updated(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
