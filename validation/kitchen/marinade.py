"""The marinade: a slab in a finite bath against exact solutions, the food table, cure arithmetic and common practice."""

import math
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from dryingsim.batch.catalog.ingredients import (
    SALT_PER_SODIUM,
    all_ingredients,
    find_ingredient,
    start_text,
)
from dryingsim.batch.reading.marinade_file import parse_marinade
from dryingsim.batch.schema import Composition
from dryingsim.kitchen.marinade import dry, marinate
from dryingsim.properties.finite_bath import finite_bath_roots, uptake_share
from dryingsim.properties.soaking import SALT, Uptake
from validation.case import Case, Plot, Result
from validation.data import example, table

ROOTS = table("finite_bath_roots")
SERIES = table("slab_series")
FOODS = table("marinade_ingredients")
DIFFUSION = table("solute_diffusion")
CRANK = "Crank, The Mathematics of Diffusion (2nd ed. 1975), section 4.3.5"
ENDLESS = 1e7  # a bath so large that it stays as strong as it was


def roots(full: bool) -> np.ndarray:
    return np.array([finite_bath_roots(alpha)[:2] for alpha in ROOTS.column("alpha")])


def short_time(fourier: np.ndarray, alpha: float) -> np.ndarray:
    """Uptake while the two faces do not feel each other: (1 + alpha)(1 - exp(T/alpha^2) erfc(sqrt T/alpha))."""
    return np.array(
        [(1.0 + alpha) * (1.0 - math.exp(t / alpha**2) * math.erfc(math.sqrt(t) / alpha)) for t in fourier]
    )


EARLY = np.array([1e-3, 3e-3, 1e-2, 3e-2, 0.06])


def early_case(full: bool) -> Result:
    fine = np.geomspace(5e-4, 3.0, 200)
    plot = Plot(
        title="Uptake from a finite bath",
        x_label="D t / l^2",
        y_label="share of the final uptake",
        points=tuple((f"alpha {a:g}, short times", EARLY, short_time(EARLY, a)) for a in (0.3, 1.0, 4.0)),
        lines=tuple((f"alpha {a:g}", fine, uptake_share(fine, a)) for a in (0.3, 1.0, 4.0)),
    )
    return Result(np.array([uptake_share(EARLY, a) for a in (0.3, 1.0, 4.0)]), (plot,))


def by_library(full: bool) -> np.ndarray:
    """The same bag by the method of lines: cells of a half slab, and the bath as one more unknown."""
    from scipy.integrate import solve_ivp

    n, alpha = 400 if full else 200, 0.5
    gap = 1.0 / n

    def rate(t: float, c: np.ndarray) -> np.ndarray:
        inner = np.diff(c[:-1]) / gap  # towards the middle
        face = (c[-1] - c[-2]) / (0.5 * gap)
        cells = np.concatenate([inner, [face]]) - np.concatenate([[0.0], inner])
        return np.concatenate([cells / gap, [-face / alpha]])

    start = np.zeros(n + 1)
    start[-1] = 1.0
    jacobian_band = {"lband": 1, "uband": 1}
    done = solve_ivp(
        rate, (0.0, 1.0), start, method="LSODA", rtol=1e-8, atol=1e-10, t_eval=LATER, **jacobian_band
    )
    return done.y[:-1].mean(axis=0) / (alpha / (1.0 + alpha))


LATER = np.array([0.01, 0.05, 0.2, 0.5, 1.0])


def demo(meat: str = "", rows: str = "", **changes):
    """The demonstration marinade, with other ingredients if given."""
    text = start_text()
    if rows:
        head, tail = text[: text.index("[[ingredient]]")], text[text.index("[dried]") :]
        text = head + rows + tail
    recipe = replace(
        parse_marinade(text.replace('weight = "0.7 kg"', meat or 'weight = "0.7 kg"'), "validation"),
        **changes,
    )
    return marinate(recipe)


def curing(meat: str, amount: str, form: str) -> float:
    """Ingoing nitrite [ppm]."""
    rows = f'[[ingredient]]\nname = "curing salt"\namount = "{amount}"\n'
    check = demo(f'weight = "{meat}"', rows, form=form).nitrite
    assert check is not None
    return 1e6 * check.all_in


def cups(names: Iterable[str]) -> list[float]:
    """Weight of a cup of some ingredients, as a marinade file reads it [g]."""
    found = []
    for name in names:
        rows = f'[[ingredient]]\nname = "{name}"\namount = "1 cup"\n'
        recipe = parse_marinade(
            '[meat]\ncut = "beef eye of round"\nweight = "5 kg"\nthickness = "5 mm"\n[marinade]\ntime = "1 h"\n'
            + rows,
            "validation",
        )
        found.append(1e3 * recipe.portions[0].weight_kg)
    return found


def _sugars() -> np.ndarray:
    """Sugars of the table; carbohydrate where it has none but the catalog counts it [%]."""
    oyster = np.array([row["name"] == "oyster sauce" for row in FOODS.rows])
    return np.where(oyster, FOODS.column("carbohydrate_percent"), FOODS.column("sugars_percent"))


CUPS = {"soy sauce": 255.0, "honey": 339.0, "salt": 292.0, "sugar": 200.0, "cider vinegar": 239.0}


def treybal_hours() -> list[float]:
    """Hours until the mean has fallen from 5 to 1, from one face of 30 mm, then from both; D as printed."""
    found = []
    for half in (0.030, 0.015):
        seconds = np.linspace(1e3, 2e6, 20000)
        share = uptake_share(4.71e-10 * seconds / half**2, ENDLESS)
        found.append(float(np.interp(0.8, share, seconds)) / 3600.0)
    return found


def treybal_diffusivity() -> float:
    fourier = np.linspace(1e-3, 1.0, 20000)
    at = float(np.interp(0.4, uptake_share(fourier, ENDLESS), fourier))  # 5 to 3 of 5
    return at * 0.030**2 / (68.0 * 3600.0)


# Duck meat, lean and skinless: estimate (water 74, protein 20, fat 5, ash 1); its salt and sugar from the formulation.
DUCK = Composition(water=0.74, protein=0.20, fat=0.05, carbohydrate=0.0, ash=0.01)


def duck_salt() -> list[float]:
    taken = Uptake(
        time_s=0.0,
        salt=0.012,
        salt_range=(0.012, 0.012),
        sugar=0.020,
        sugar_range=(0.02, 0.02),
        acid=0.0,
        water=0.1,
        evenness=1.0,
    )
    dried = dry(DUCK, taken, 0.911)
    return [100.0 * dried.salt, 100.0 * dried.moisture_wb]


def labs() -> np.ndarray:
    """Geometric middles of the printed ranges of the diffusivity of salt in meat, in 1e-10 m2/s."""
    read = DIFFUSION.where(solute="NaCl", status="read")
    low, high = read.column("lowest_m2_s"), read.column("highest_m2_s")
    middles = 1e10 * np.sqrt(low * high)
    return middles[np.isfinite(middles)]


CASES = [
    Case(
        name="roots of tan q = -alpha q",
        kind=3,
        source=ROOTS.source,
        status=ROOTS.status,
        inputs="final uptake 10 to 90 %, first and second root",
        expected=np.stack([ROOTS.column("q1"), ROOTS.column("q2")], axis=1),
        tolerance=1.1e-4,
        reason="rounding of the roots, and of alpha, to 4 decimals",
        compute=roots,
    ),
    Case(
        name="an endless bath: mean of the slab series",
        kind=1,
        source="series of a slab with its faces held, as tabulated in shared/slab_series.csv",
        status="exact, evaluated here",
        inputs="alpha 1e7; D t/l^2 = 0.05 to 1",
        expected=lambda full: np.array(
            [
                1.0
                - 8.0
                / np.pi**2
                * sum(np.exp(-(((2 * k + 1) * np.pi / 2) ** 2) * t) / (2 * k + 1) ** 2 for k in range(60))
                for t in LATER[1:]
            ]
        ),
        tolerance=1e-6,
        reason="alpha is not infinite: 1/alpha of the value, and the terms left out",
        compute=lambda full: uptake_share(LATER[1:], ENDLESS),
    ),
    Case(
        name="short times: the half space in a finite bath",
        kind=1,
        source=CRANK + ", the expression for short times",
        status="exact as long as the faces do not feel each other; form from memory, confirmed here",
        inputs="alpha 0.3, 1, 4; D t/l^2 = 0.001 to 0.06",
        expected=np.array([short_time(EARLY, a) for a in (0.3, 1.0, 4.0)]),
        tolerance=1e-4,
        reason="what the far face adds at D t/l^2 = 0.06, of the order of erfc(1/sqrt(0.06)) = 1e-8, and 200 terms at 0.001",
        compute=early_case,
    ),
    Case(
        name="the same bag by the method of lines",
        kind=4,
        source="scipy.integrate.solve_ivp (LSODA)",
        status="computed",
        inputs="alpha 0.5, 200 cells in half a slab; D t/l^2 = 0.01 to 1",
        expected=by_library,
        tolerance=1e-3,
        reason="the 200 even cells: second order, 0.05 % at the first time",
        compute=lambda full: uptake_share(LATER, 0.5),
        requires="scipy",
    ),
    Case(
        name="63 and 90 % of the salt of a 6 mm strip",
        kind=1,
        source="slab series, D 2.5e-10 m2/s, faces held",
        status="derived",
        inputs="3.2 and 8.5 h",
        expected=np.array([0.63, 0.90]),
        tolerance=0.005,
        reason="two digits",
        compute=lambda full: uptake_share(2.5e-10 * 3600.0 * np.array([3.2, 8.5]) / 0.003**2, ENDLESS),
    ),
    Case(
        name="diffusivity from a slab with one open face",
        kind=2,
        source=example("TR4.2")["source"],
        status=example("TR4.2")["status"],
        inputs=example("TR4.2")["inputs"],
        expected=4.71e-10,
        tolerance=0.03,
        relative=True,
        unit="m2/s",
        reason="the book reads a chart; the full series gives 4.62e-10",
        compute=lambda full: treybal_diffusivity(),
    ),
    Case(
        name="one open face or two: a factor of four in time",
        kind=2,
        source=example("TR4.2")["source"],
        status=example("TR4.2")["status"],
        inputs=example("TR4.2")["inputs"] + "; D 4.71e-10 m2/s",
        expected=np.array([302.0, 75.0]),
        tolerance=np.array([3.0, 1.0]),
        unit="h",
        reason="last digit, and the printed diffusivity (1 % in the time)",
        compute=lambda full: treybal_hours(),
    ),
    Case(
        name="salt in a tablespoon of 38 ingredients",
        kind=3,
        source=FOODS.source,
        status=FOODS.status,
        inputs="sodium and tablespoon weight of the table, through the catalog",
        expected=FOODS.column("salt_g_per_tablespoon"),
        tolerance=0.0006 + 2e-4 * FOODS.column("salt_g_per_tablespoon"),
        unit="g",
        reason="rounded to a milligram, with sodium times 2.5417 there and 2.5421 here",
        compute=lambda full: [
            1e3 * one.salt * one.tablespoon_kg
            for one in (find_ingredient("validation", row["name"]) for row in FOODS.rows)
        ],
    ),
    Case(
        name="water and sugar of the catalog",
        kind=3,
        source=FOODS.source,
        status=FOODS.status,
        inputs="38 ingredients; oyster sauce, for which the table has no sugars, by its carbohydrate",
        expected=np.array([FOODS.column("water_percent"), _sugars()]),
        tolerance=1e-9,
        unit="%",
        reason="copied as printed",
        compute=lambda full: (
            100.0
            * np.array(
                [
                    [all_ingredients()[row["name"]].water for row in FOODS.rows],
                    [all_ingredients()[row["name"]].sugar for row in FOODS.rows],
                ]
            )
        ),
    ),
    Case(
        name="weight of a cup",
        kind=3,
        source="USDA food table, household weights of a cup",
        status="from memory",
        inputs=", ".join(CUPS),
        expected=np.array(list(CUPS.values())),
        tolerance=0.025,
        relative=True,
        unit="g",
        reason="spoons are weighed to 0.1-1 g there: up to half a gram in 18 to 21",
        compute=lambda full: cups(CUPS),
    ),
    Case(
        name="weight of a cup of molasses",
        kind=3,
        source="USDA food table, household weight of a cup",
        status="from memory",
        inputs="from the table's own tablespoon, 20 g",
        expected=337.0,
        tolerance=0.025,
        relative=True,
        unit="g",
        reason="as for the other cups",
        compute=lambda full: cups(["molasses"]),
        known_failure="the table's tablespoon (20 g, that is 320 g a cup) and its cup disagree by 5 %; the tablespoon was "
        "read, the cup is recalled",
    ),
    Case(
        name="salt in dried beef, from its sodium",
        kind=3,
        source="USDA SR28, 19002 (beef strip, 2081 mg sodium per 100 g) and 13350 (dried beef, 2790 mg)",
        status="read",
        inputs="sodium counted as sodium chloride",
        expected=np.array([5.29, 7.09]),
        tolerance=0.006,
        unit="%",
        reason="rounding; factor 2.54 there",
        compute=lambda full: SALT_PER_SODIUM * np.array([2.081, 2.790]),
    ),
    Case(
        name="salt and moisture of a dried duck strip",
        kind=5,
        source="J. Anim. Sci. Technol. 62(4):553, table 2 (1.2 g salt, 2 g sugar, 10 g water per 100 g meat; a_w 0.911)",
        status="read; salt derived from the formulation, composition of raw duck an estimate",
        inputs="dried to water activity 0.911",
        expected=np.array([2.4, 41.0]),
        tolerance=np.array([0.3, 3.0]),
        unit="%",
        reason="printed moistures of six like products run from 41.0 to 43.6 %; salt 'about' 2.4",
        compute=lambda full: duck_salt(),
        fitted=True,
    ),
    Case(
        name="how fast salt moves: three laboratories",
        kind=5,
        source=DIFFUSION.source
        + ": pork slices at 5 degC (2015), pork by MRI (Hansen et al. 2008), beef (1998)",
        status="read; the geometric middle of printed ranges",
        inputs="value used at 5 degC",
        expected=labs(),
        tolerance=0.5,
        relative=True,
        unit="1e-10 m2/s",
        reason="laboratories differ by a factor of two either way",
        compute=lambda full: np.full(3, 1e10 * SALT.at(278.15)[0]),
    ),
    Case(
        name="cure for sausage meat: 4 oz to 100 lb",
        kind=3,
        source="processing inspectors' calculations: 4 oz of curing salt with 6.25 % nitrite to 100 lb of meat",
        status="from memory; the limit of 156 ppm read second hand",
        inputs="100 lb minced meat",
        expected=156.0,
        tolerance=0.5,
        unit="ppm",
        reason="printed to a ppm",
        compute=lambda full: curing("100 lb", "4 oz", "minced"),
    ),
    Case(
        name="cure at home: a level teaspoon to 5 lb",
        kind=6,
        source="common practice, no source",
        status="recalled",
        inputs="5 lb minced meat",
        expected=156.0,
        tolerance=0.1,
        relative=True,
        unit="ppm",
        reason="a teaspoon of salt weighs 5.7 to 6 g, packed more",
        compute=lambda full: curing("5 lb", "1 tsp", "minced"),
    ),
    Case(
        name="twelve hours are enough for slices of 5 mm",
        kind=6,
        source="common practice, no source: at least 12 h",
        status="recalled",
        inputs="demonstration marinade, 4 degC, slowest diffusivity; salt after 12 h over that after 48 h",
        expected=0.9,
        tolerance=0.0,
        bound="at least",
        reason="'enough' read as nine tenths",
        compute=lambda full: twelve_hours(),
    ),
    Case(
        name="more than a day changes nothing in slices of 5 mm",
        kind=6,
        source="common practice, no source: best 24 to 48 h",
        status="recalled",
        inputs="demonstration marinade, 4 degC; sugar after 24 h over that after 48 h",
        expected=1.0,
        tolerance=0.03,
        reason="what nobody tastes",
        compute=lambda full: one_day(),
    ),
]


def twelve_hours() -> float:
    by_time = {round(one.time_s / 3600.0): one for one, _ in demo().compared}
    return by_time[12].salt_range[0] / by_time[48].salt_range[0]


def one_day() -> float:
    by_time = {round(one.time_s / 3600.0): one for one, _ in demo().compared}
    return by_time[24].sugar / by_time[48].sugar
