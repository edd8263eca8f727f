"""Packages, silica gel, growth limits: how dried meat keeps."""

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.catalog.packages import Package, Span, films, packages
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.kitchen import mould, packed_meat
from dryingsim.kitchen.packed_meat import Packing, Product
from dryingsim.properties import packaging
from dryingsim.properties.diffusivity import LEAN_MEAT
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import Recipe, equilibrium_moisture
from validation.case import Case, Plot, Result
from validation.data import table

GEL = table("silica_gel")
FILMS = table("film_permeability")
LIMITS = table("growth_limits")
NUMBERS = table("package_storage")
TYPE_A = np.isfinite(GEL.column("type_A_least_25C"))
MIL_PER_100IN2 = (
    25.4e-6 * 1e-3 / 0.064516 / 86400.0 / (0.9 * float(saturation_pressure(311.15)))
)  # kg/(m s Pa)
CURED = Recipe(protein=0.80, salt=0.05, sugar=0.04)
ROOM = 25.0 + ZERO_CELSIUS


def number(identifier: str) -> dict[str, str]:
    return NUMBERS.where(id=identifier).rows[0]


def low(identifier: str) -> float:
    return float(number(identifier)["low"])


def high(identifier: str) -> float:
    return float(number(identifier)["high"])


def gel(full: bool) -> Result:
    humidity = GEL.column("humidity_percent") / 100.0
    values = [100.0 * packaging.gel_uptake(humidity, t + ZERO_CELSIUS) for t in (5.0, 25.0, 40.0)]
    plot = Plot(
        title="Water held by silica gel, type A, 25 degC",
        x_label="relative humidity, %",
        y_label="g per 100 g",
        points=(
            ("type A", 100.0 * humidity, GEL.column("type_A_25C")),
            ("type RD", 100.0 * humidity, GEL.column("type_RD_25C")),
        ),
        lines=(("package", 100.0 * humidity, values[1]),),
    )
    return Result(np.stack(values), (plot,))


def meat(
    activity: float, *, kg: float = 0.2, recipe: Recipe = CURED, thickness_m: float | None = 6e-3
) -> Product:
    return Product(
        dry_mass_kg=kg,
        moisture_db=float(equilibrium_moisture(activity, ROOM, recipe)),
        recipe=recipe,
        fat_share=0.08,
        wettest=activity,
        driest=activity,
        thickness_m=thickness_m,
    )


def packed(name: str, *, humidity: float, gel_kg: float = 0.0, area: float = 0.06) -> Packing:
    return Packing(
        package=packages()[name],
        area_m2=area,
        gel_kg=gel_kg,
        gel_water=0.03,
        room_K=ROOM,
        room_humidity=humidity,
    )


def straight_line(full: bool) -> np.ndarray:
    """Days to three moistures for a nearly straight sorption curve: salt-free, between a_w 0.30 and 0.50.

    The curve is straightened: the days are asked of a product so narrow in water activity that its slope is one number.
    """
    product, packing = meat(0.400, recipe=Recipe(protein=0.88)), packed("freezer bag", humidity=0.405)
    conductance = packing.package.conductances(packing.area_m2, ROOM)[1]
    inside = packed_meat.activity_history(product, packing, ROOM, 0.405, conductance)
    return np.array([packed_meat.days_above(inside, a) for a in (0.401, 0.402, 0.404)])


def by_formula(full: bool) -> np.ndarray:
    """ln((a_out - a0)/(a_out - a)) = t G p_sat/(m X'), the shelf-life equation for a straight isotherm."""
    product, packing = meat(0.400, recipe=Recipe(protein=0.88)), packed("freezer bag", humidity=0.405)
    slope = float(np.diff(equilibrium_moisture(np.array([0.400, 0.405]), ROOM, product.recipe))[0]) / 0.005
    air = float(packaging.air_water(packing.package.air_m3, 1.0, ROOM))
    conductance = packing.package.conductances(packing.area_m2, ROOM)[1]
    capacity = product.dry_mass_kg * slope + air
    start = packed_meat.activity_history(product, packing, ROOM, 0.405, conductance).start
    ratio = np.log((0.405 - start) / (0.405 - np.array([0.401, 0.402, 0.404])))
    return capacity / (conductance * float(saturation_pressure(ROOM))) * ratio / 86400.0


PACKED = (meat(0.70), packed("zip bag", humidity=0.85, gel_kg=0.02))


def by_integral(full: bool) -> np.ndarray:
    product, packing = PACKED
    conductance = packing.package.conductances(packing.area_m2, ROOM)[1]
    return packed_meat.activity_history(product, packing, ROOM, 0.85, conductance).at(
        np.array([10.0, 50.0, 150.0, 400.0])
    )


def by_solver(full: bool) -> np.ndarray:
    """The same balance for the water in the package, handed to a general solver."""
    from scipy.integrate import solve_ivp

    product, packing = PACKED
    conductance = packing.package.conductances(packing.area_m2, ROOM)[1]
    grid = np.linspace(0.2, 0.95, 20001)
    held = packed_meat.water_held(grid, ROOM, product, packing)
    start = packed_meat.activity_history(product, packing, ROOM, 0.85, conductance).start
    pressure = float(saturation_pressure(ROOM))

    def flow(day: float, water: np.ndarray) -> np.ndarray:
        return 86400.0 * conductance * pressure * (0.85 - np.interp(water, held, grid))

    days = np.array([10.0, 50.0, 150.0, 400.0])
    found = solve_ivp(
        flow, (0.0, 400.0), [np.interp(start, grid, held)], t_eval=days, method="LSODA", rtol=1e-9, atol=1e-12
    )
    return np.interp(found.y[0], held, grid)


def sealed_slab(full: bool) -> float:
    """What is left of a half cosine across a sealed slab after `within`, by an explicit difference scheme."""
    product = meat(0.75)
    within, _ = packed_meat.equilibration_times(product, ROOM) or (0.0, 0.0)
    diffusivity = float(LEAN_MEAT.value(ROOM, product.moisture_db))
    cells = 80
    z = (np.arange(cells) + 0.5) / cells
    profile = np.cos(2.0 * np.pi * z)  # even about the middle, as after drying on both faces
    steps = 40000
    number = diffusivity * within / steps / (6e-3 / cells) ** 2
    for _ in range(steps):
        flux = number * np.diff(profile)
        profile[:-1] += flux
        profile[1:] -= flux
    return float(profile.max())


def inside_and_through(full: bool) -> float:
    """Time for slices to even out over the time the wall needs: conductance of the thinnest bag, 25 degC."""
    product, packing = meat(0.70), packed("zip bag", humidity=0.85)
    _, between = packed_meat.equilibration_times(product, ROOM) or (0.0, 0.0)
    slope = float(np.diff(equilibrium_moisture(np.array([0.70, 0.74]), ROOM, CURED))[0]) / 0.04
    conductance = packing.package.conductances(packing.area_m2, ROOM)[2]
    through = product.dry_mass_kg * slope / (conductance * float(saturation_pressure(ROOM)))
    return between / through


def ninety_days(full: bool) -> np.ndarray:
    """Fall of water activity in 90 days in a room of 50 % RH: in plain plastic, and plastic minus vacuum pouch."""
    falls = []
    for name in ("zip bag", "vacuum pouch"):
        packing = packed(name, humidity=0.5)
        inside = packed_meat.activity_history(
            meat(0.78), packing, ROOM, 0.5, packing.package.conductances(0.06, ROOM)[1]
        )
        falls.append(inside.start - float(inside.at(90.0)))
    return np.array([falls[0], falls[1], falls[0] - falls[1]])


def zip_week(full: bool) -> float:
    """Expected days to visible mould in meat dried to 0.85, in a zip bag in a room of 21 degC and 50 % RH."""
    packing = packed("zip bag", humidity=0.5)
    inside = packed_meat.activity_history(
        meat(0.85), packing, 294.15, 0.5, packing.package.conductances(0.06, 294.15)[1]
    )
    return mould.days_to_mould(inside, 294.15, 0.0, False) or np.nan


def excess_of_limits(full: bool) -> np.ndarray:
    """Used limit minus each published one (lower end of a range), for organisms named in both."""
    names = {
        "Staphylococcus": "staphylococcus",
        "Listeria": "listeria",
        "Salmonella": "salmonella",
        "Escherichia": "e_coli",
        "Bacillus cereus": "bacillus",
        "C. perfringens": "perfringens",
        "Clostridium perfringens": "perfringens",
        "Penicillium spp.": "penicillium",
        "A. flavus": "flavus",
        "S. aureus, growth, aerobic": "staphylococcus",
    }
    used = {one.key: one.water_activity for one in growth_limits.organisms()}
    found = []
    for row in LIMITS.rows:
        for name, key in names.items():
            if row["organism"].startswith(name) and "anaerobic" not in row["organism"]:
                found.append(used[key] - float(row["water_activity"].split("-")[0]))
    return np.array(found)


def tight(name: str, conductance: Span) -> Package:
    return Package(
        name=name,
        title=name,
        permeance_38C=conductance,
        activation_energy_J_mol=0.0,
        leak=Span(0.0, 0.0),
        size_m=None,
        air_m3=0.0,
        airless=False,
        oxygen_tight=False,
        source="",
    )


def mixed(full: bool) -> float:
    """Water before and after gel and meat have evened out in a tight jar, relative miss."""
    product = meat(0.80)
    packing = Packing(
        package=tight("tight", Span(0.0, 0.0)),
        area_m2=0.0,
        gel_kg=0.05,
        gel_water=0.03,
        room_K=ROOM,
        room_humidity=0.5,
    )
    start = packed_meat.activity_history(product, packing, ROOM, 0.5, 0.0).start
    before = product.dry_mass_kg * product.moisture_db + packing.gel_kg * packing.gel_water
    return float(packed_meat.water_held(start, ROOM, product, packing)) / before - 1.0


CASES = [
    Case(
        name="silica gel, type A, at three temperatures",
        kind=3,
        source=GEL.source,
        status=GEL.status,
        inputs="5 to 90 % RH at 5, 25 and 40 degC",
        expected=np.stack([GEL.column(f"type_A_{t}C") for t in (5, 25, 40)]),
        tolerance=0.11,
        unit="g/100 g",
        reason="rounding of the table to one decimal, and its saturation pressure, which differs by up to 0.2 %",
        compute=gel,
    ),
    Case(
        name="silica gel, type A: least uptake of a specification",
        kind=3,
        source="specification of type A gel, 20, 50 and 90 % RH at 25 degC",
        status="from memory",
        inputs="20, 50, 90 % RH, 25 degC",
        expected=GEL.column("type_A_least_25C")[TYPE_A],
        tolerance=0.06,
        unit="g/100 g",
        bound="at least",
        reason="a minimum; rounding of its decimals",
        compute=lambda full: (
            100.0 * packaging.gel_uptake(GEL.column("humidity_percent")[TYPE_A] / 100.0, 298.15)
        ),
    ),
    Case(
        name="silica gel holds a fifth of its weight in normal use",
        kind=3,
        source=number("gel_normal")["source"],
        status="read",
        inputs="40 % RH, 25 degC",
        expected=low("gel_normal"),
        tolerance=0.025,
        unit="kg/kg",
        reason="'about 20 %' is read as 17.5 to 22.5 %",
        compute=lambda full: packaging.gel_uptake(0.4, 298.15),
    ),
    Case(
        name="silica gel near saturation",
        kind=3,
        source=number("gel_full")["source"],
        status="read",
        inputs="98 % RH, 23 degC; middle of 0.35 and 0.40",
        expected=0.5 * (low("gel_full") + high("gel_full")),
        tolerance=0.5 * (high("gel_full") - low("gel_full")),
        unit="kg/kg",
        reason="the two published figures are the ends",
        compute=lambda full: packaging.gel_uptake(0.98, 296.15),
    ),
    Case(
        name="desiccant unit: uptake at 40 % over that at 20 % RH",
        kind=3,
        source="MIL-D-3464E: a unit takes up at least 3.0 g at 20 % and 6.0 g at 40 % RH, 25 degC",
        status="read (a second paragraph of the reprint says 60 %)",
        inputs="25 degC",
        expected=low("desiccant_unit_40") / low("desiccant_unit_20"),
        tolerance=0.15,
        reason="both are minima; a gel that just meets both has this ratio, others hold up to 7 % more of one",
        compute=lambda full: packaging.gel_uptake(0.4, 298.15) / packaging.gel_uptake(0.2, 298.15),
    ),
    Case(
        name="desiccant unit: weight of gel that meets it",
        kind=3,
        source="MIL-D-3464E: a unit weighs 50 g at most",
        status="read",
        inputs="6.0 g at 40 % RH, 25 degC, gel dry",
        expected=low("desiccant_unit_weight"),
        tolerance=0.0,
        unit="g",
        bound="at most",
        reason="the bound of the specification, made for clay as well",
        compute=lambda full: low("desiccant_unit_40") / packaging.gel_uptake(0.4, 298.15),
    ),
    Case(
        name="film table brought to SI",
        kind=3,
        source=FILMS.source,
        status=FILMS.status,
        inputs="all films, low and high",
        expected=np.stack([FILMS.column("low_g_mil_100in2_day"), FILMS.column("high_g_mil_100in2_day")])
        * MIL_PER_100IN2,
        tolerance=0.01,
        relative=True,
        unit="kg/(m s Pa)",
        reason="two or three figures of the SI columns",
        compute=lambda full: np.stack([FILMS.column("low_kg_m_s_Pa"), FILMS.column("high_kg_m_s_Pa")]),
    ),
    Case(
        name="polyethylene of 1 mil at 38 degC and 90 % RH",
        kind=3,
        source=number("LDPE_1mil")["source"],
        status="read",
        inputs="25.4 um LDPE, middle of the catalog's range; middle of 16 and 23",
        expected=0.5 * (low("LDPE_1mil") + high("LDPE_1mil")),
        tolerance=0.5 * (high("LDPE_1mil") - low("LDPE_1mil")),
        unit="g/(m2 day)",
        reason="the ends of the printed range",
        compute=lambda full: (
            packaging.transmission_rate(films()["LDPE"].middle / 25.4e-6, 311.15, 0.9) * 86400e3
        ),
    ),
    Case(
        name="high- over low-density polyethylene at 22 degC",
        kind=5,
        source=number("HDPE_to_LDPE")["source"],
        status="read: one third to one sixth",
        inputs="22 degC, middle of the catalog's ranges",
        expected=0.5 * (low("HDPE_to_LDPE") + high("HDPE_to_LDPE")),
        tolerance=0.5 * (high("HDPE_to_LDPE") - low("HDPE_to_LDPE")),
        reason="the ends of the printed range",
        compute=lambda full: (
            packaging.permeability(films()["HDPE"].middle, 30.0e3, 295.15)
            / packaging.permeability(films()["LDPE"].middle, 33.0e3, 295.15)
        ),
    ),
    Case(
        name="vapour through a bag, worked by hand",
        kind=2,
        source=number("ingress")["what"],
        status="derived",
        inputs="400 cm2, 0.06 mm, 0.10 g mm/(m2 day kPa), 0.3 kPa",
        expected=low("ingress"),
        tolerance=0.0005,
        unit="g/day",
        reason="rounding of the answer",
        compute=lambda full: (
            packaging.transmission_rate(
                0.10e-3 * 1e-3 / 86400.0 / 1e3 / 0.06e-3, 311.15, 300.0 / float(saturation_pressure(311.15))
            )
            * 0.04
            * 86400e3
        ),
    ),
    Case(
        name="vapour in a litre of air",
        kind=3,
        source=number("litre_of_air")["source"],
        status="from memory",
        inputs="25 degC, 50 % RH",
        expected=low("litre_of_air"),
        tolerance=0.05,
        unit="mg",
        reason="rounding to 0.1 mg",
        compute=lambda full: packaging.air_water(1e-3, 0.5, 298.15) * 1e6,
    ),
    Case(
        name="time in a bag against the equation for a straight isotherm",
        kind=1,
        source="ln((m_e - m_i)/(m_e - m)) = t (P/l) (A/W) p_0/b: Taoukis et al. (1988), ACS Symp. Ser. 365, ch. 19",
        status="formula from memory; that paper's abstract read",
        inputs="salt-free meat, freezer bag, a_w 0.400 to 0.404 with 0.405 outside, 25 degC",
        expected=by_formula,
        tolerance=0.005,
        relative=True,
        unit="days",
        reason="the package's curve bends: its slope changes by 1.0 % over this range, half of it to either side",
        compute=straight_line,
    ),
    Case(
        name="time in a bag with gel against a general solver",
        kind=4,
        source="scipy solve_ivp, LSODA, on the balance of the water in the package",
        status="derived",
        inputs="cured meat at 0.70 with 20 g of gel in a zip bag, 85 % RH, 25 degC, after 10 to 400 days",
        expected=by_solver,
        tolerance=2e-4,
        reason="2e-5 from the solver's table of the curve, the rest from 500 steps of the integral",
        compute=by_integral,
    ),
    Case(
        name="water is kept when gel and meat even out",
        kind=1,
        source="balance of water in a tight jar",
        status="derived",
        inputs="cured meat at 0.80 with 50 g of gel, 25 degC",
        expected=0.0,
        tolerance=1e-6,
        reason="the common water activity is found to 1e-8",
        compute=mixed,
    ),
    Case(
        name="a slice evens out within itself",
        kind=1,
        source="slowest even mode of a sealed slab, exp(-4 pi^2 D t/L^2), by an explicit difference scheme of its own",
        status="derived",
        inputs="6 mm, cured meat at 0.75, 25 degC: what is left after the told time",
        expected=0.05,
        tolerance=0.0005,
        reason="80 cells: error of the decay rate 0.05 % of the exponent 3",
        compute=sealed_slab,
        slow=True,
    ),
    Case(
        name="no gradients within a pack",
        kind=5,
        source=number("packed_beef")["what"] + "; " + number("packed_beef")["source"],
        status="read: abstract",
        inputs="6 mm slices, thinnest bag at its most permeable, 25 degC: time to even out over time through the wall",
        expected=0.1,
        tolerance=0.0,
        bound="at most",
        reason="'no significant gradient' is read as a tenth: the wall is ten times slower (estimate)",
        compute=inside_and_through,
    ),
    Case(
        name="jerky loses water in store, more in plain plastic than in a vacuum pouch",
        kind=5,
        source=number("jerky_90d")["what"] + "; " + number("jerky_90d")["source"],
        status="read: abstract, directions only; the room's humidity is assumed, 50 %",
        inputs="a_w 0.78, 90 days, 25 degC: fall in plastic, in the pouch, and their difference",
        expected=0.0,
        tolerance=0.0,
        bound="at least",
        reason="directions only",
        compute=ninety_days,
    ),
    Case(
        name="mould: rate at a_w 0.85 over that at 0.80",
        kind=5,
        source=number("flavus_85")["what"] + ": " + number("flavus_85")["source"],
        status="read",
        inputs="25 degC, expected days",
        expected=low("flavus_85"),
        tolerance=0.6,
        reason="one mould's growth against days to see any: the soonest days give 2.1, the latest 3.0",
        compute=lambda full: mould.mould_rate(0.85, 298.15, False) / mould.mould_rate(0.80, 298.15, False),
    ),
    Case(
        name="mould: cardinal temperatures",
        kind=1,
        source="cardinal model of Rosso et al.: nothing at the lowest temperature (-4.4 degC), all at the best (23.9)",
        status="read: temperatures; formula from memory",
        inputs="lowest, best, 10 K above the best (held)",
        expected=np.array([0.0, 1.0, 1.0]),
        tolerance=1e-12,
        reason="rounding",
        compute=lambda full: mould.warmth(np.array([268.75, 297.05, 307.05])),
    ),
    Case(
        name="growth limits are none above a published one",
        kind=3,
        source=LIMITS.source,
        status=LIMITS.status,
        inputs="used limit minus each published one, lower end of a range, for organisms named in both",
        expected=0.0,
        tolerance=1e-9,
        bound="at most",
        reason="the lowest published limit is meant to be used",
        compute=excess_of_limits,
    ),
    Case(
        name="a zip bag serves about a week",
        kind=6,
        source="common practice, no source",
        status="no source",
        inputs="meat dried to 0.85, 21 degC, 50 % RH: expected days to visible mould",
        expected=low("zip_week"),
        tolerance=4.0,
        unit="days",
        reason="'about a week' is read as 3 to 11 days (estimate)",
        compute=zip_week,
    ),
]
