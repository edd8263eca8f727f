"""Dried meat in a package: balances, limits, directions, and who decides."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.catalog import growth_limits
from dryingsim.batch.catalog.packages import packages
from dryingsim.kitchen import mould, packed_meat, storage
from dryingsim.kitchen.packed_meat import ActivityHistory, Packing, Product
from dryingsim.kitchen.storage import keep
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import UNCERTAINTY, Recipe, equilibrium_moisture
from dryingsim.show.core.quantities import Unit
from dryingsim.show.kitchen.storage_words import in_short

ROOM = 294.15
RECIPE = Recipe(protein=0.80, salt=0.05, sugar=0.04)


def meat(activity, **changes):
    product = Product(
        dry_mass_kg=0.2,
        moisture_db=float(equilibrium_moisture(activity, ROOM, RECIPE)),
        recipe=RECIPE,
        fat_share=0.08,
        wettest=activity,
        driest=activity,
        thickness_m=6e-3,
    )
    return replace(product, **changes)


def packing(name="zip bag", humidity=0.5, gel_kg=0.0):
    return Packing(
        package=packages()[name],
        area_m2=0.06,
        gel_kg=gel_kg,
        gel_water=0.03,
        room_K=ROOM,
        room_humidity=humidity,
    )


def activity_history(product, packed, humidity=None):
    humidity = packed.room_humidity if humidity is None else humidity
    return packed_meat.activity_history(
        product, packed, ROOM, humidity, packed.package.conductances(packed.area_m2, ROOM)[1]
    )


# ---- the balance


@pytest.mark.parametrize("humidity", [0.3, 0.9])
def test_water_that_came_through_the_wall_is_in_the_package(humidity):
    product, packed = meat(0.7), packing(humidity=humidity, gel_kg=0.02)
    found = activity_history(product, packed)
    conductance = packed.package.conductances(packed.area_m2, ROOM)[1]
    flow = conductance * saturation_pressure(ROOM) * (humidity - found.water_activity)
    came = 86400.0 * np.trapezoid(flow, found.days)
    held = packed_meat.water_held(found.water_activity[[0, -1]], ROOM, product, packed)
    # the trapezoid of exp(-s) over steps of 14/500 is 6e-5 too large, and the salt's step is sharp
    assert came == pytest.approx(held[1] - held[0], rel=2e-3)


@pytest.mark.parametrize("humidity", [0.2, 0.5, 0.95])
def test_water_activity_goes_to_the_rooms_humidity_and_never_past(humidity):
    found = activity_history(meat(0.7), packing(humidity=humidity))
    assert found.water_activity[-1] == pytest.approx(humidity, abs=1e-5)
    assert np.all(np.diff(found.water_activity) * np.sign(humidity - 0.7) > 0.0)


def test_nothing_moves_where_the_room_is_as_moist_as_the_meat():
    found = activity_history(meat(0.7), packing("vacuum pouch", humidity=0.7))
    assert found.water_activity == pytest.approx(0.7, abs=1e-6)


def test_meat_alone_starts_as_it_was_packed_and_gel_dries_it():
    alone = activity_history(meat(0.7), packing("vacuum pouch")).start
    with_gel = [
        activity_history(meat(0.7), packing("vacuum pouch", gel_kg=gel)).start for gel in (0.01, 0.05, 0.2)
    ]
    assert alone == pytest.approx(0.7, abs=1e-6)
    assert alone > with_gel[0] > with_gel[1] > with_gel[2]


def test_twice_the_meat_takes_twice_as_long():
    one = packed_meat.days_above(activity_history(meat(0.7), packing("vacuum pouch", humidity=0.9)), 0.705)
    two = packed_meat.days_above(
        activity_history(meat(0.7, dry_mass_kg=0.4), packing("vacuum pouch", humidity=0.9)), 0.705
    )
    assert two == pytest.approx(2.0 * one, rel=1e-6)


def test_times_of_passing_a_limit():
    found = ActivityHistory(np.array([0.0, 10.0, 30.0]), np.array([0.5, 0.6, 0.8]))
    assert packed_meat.days_above(found, 0.7) == pytest.approx(20.0)
    assert packed_meat.days_above(found, 0.4) == 0.0
    assert packed_meat.days_above(found, 0.9) is None
    falling = ActivityHistory(found.days, 1.0 - found.water_activity)
    assert packed_meat.days_below(falling, 0.3) == pytest.approx(20.0)
    assert packed_meat.days_below(falling, 0.1) is None


# ---- mould


def test_mould_shows_sooner_in_moister_and_in_warmer_meat():
    activity = np.linspace(0.61, 0.95, 35)
    rate = mould.mould_rate(activity, ROOM, False)
    assert np.all(np.diff(rate) >= 0.0)
    assert np.all(mould.mould_rate(activity, 277.15, False) < rate)
    assert np.all(mould.mould_rate(activity, ROOM, True) >= rate)
    assert mould.mould_rate(0.59, ROOM, True) == 0.0


def test_days_to_mould_at_rest_are_the_published_ones():
    """Whatever days the points say at 25 degC must come back from a course that stands still."""
    known = growth_limits.visible_mould()
    for activity, soonest in zip(known.water_activity, known.soonest_days, strict=True):
        still = ActivityHistory(np.array([0.0, 730.0]), np.array([activity, activity]))
        assert mould.days_to_mould(still, known.at_K, 0.0, True) == pytest.approx(soonest, rel=1e-6)


def test_mould_follows_a_changing_water_activity():
    """Half of the way at one rate, the rest at another."""
    known = growth_limits.visible_mould()
    step = ActivityHistory(np.array([0.0, 7.5, 7.5 + 1e-6, 730.0]), np.array([0.80, 0.80, 0.85, 0.85]))
    # 7.5 of 15 days at 0.80, then half of 7 days at 0.85; half-day grid
    assert mould.days_to_mould(step, known.at_K, 0.0, True) == pytest.approx(11.0, abs=0.1)


def test_mould_grows_neither_in_a_freezer_nor_below_its_driest():
    assert mould.warmth(255.0) == 0.0
    still = ActivityHistory(np.array([0.0, 730.0]), np.array([0.5, 0.5]))
    assert mould.days_to_mould(still, ROOM, 0.0, True) is None


# ---- answers


def test_meat_at_the_usual_target_is_not_for_the_shelf():
    room = keep(meat(0.85), packing()).keepings[0]
    assert room.days == 0.0
    assert room.decided_by == "computed"
    assert room.first == "Staphylococcus aureus may grow"


def test_the_shorter_of_computed_and_advice_decides():
    for activity in (0.5, 0.68, 0.79):
        for name in packages():
            for one in keep(meat(activity), packing(name)).keepings:
                figures = [one.advice.days] + ([] if one.first_days is None else [one.first_days])
                assert one.days == min(figures)
                assert one.decided_by == ("computed" if one.days < one.advice.days else "advice")


def test_cautious_is_never_later_than_expected():
    for gel in (0.0, 0.05):
        for humidity in (0.3, 0.6, 0.9):
            for one in keep(meat(0.74), packing(humidity=humidity, gel_kg=gel)).keepings[:2]:
                for when in (one.mould, one.brittle, *(row.when for row in one.growth)):
                    if when.expected is not None:
                        assert when.cautious is not None
                        assert when.cautious <= when.expected + 1e-9


def test_uncertainty_counts_against_the_meat():
    """Meat computed just below the limit of a pathogen, within the uncertainty of it, counts as above."""
    limit = min(one.water_activity for one in growth_limits.organisms() if one.group == "pathogen")
    assert keep(meat(limit - 0.5 * UNCERTAINTY), packing()).keepings[0].first_days == 0.0
    above = keep(meat(limit - 1.5 * UNCERTAINTY), packing("vacuum pouch")).keepings[0]
    assert above.first_days is None or above.first_days > 1.0


def test_a_refrigerator_is_too_cold_for_some_and_a_freezer_for_all():
    _, fridge, freezer = keep(meat(0.85), packing()).keepings
    cold = {row.organism.key for row in fridge.growth if row.too_cold}
    assert {"staphylococcus", "salmonella"} <= cold
    assert "listeria" not in cold
    assert freezer.expected is None
    assert freezer.decided_by == "advice"


def test_a_dry_room_makes_meat_brittle_and_a_tight_package_does_not():
    bag = keep(meat(0.68), packing(humidity=0.2)).keepings[0].brittle
    foil = keep(meat(0.68), packing("foil pouch", humidity=0.2)).keepings[0].brittle
    assert bag.expected is not None
    assert bag.cautious < bag.expected
    assert foil.expected is None


def test_gel_is_enough_and_a_little_less_is_not():
    days = 60.0
    need = keep(meat(0.74), packing(humidity=0.8), days).gel
    assert need.gel_kg > 0.0

    def first(gel_kg):
        room = keep(meat(0.74), packing(humidity=0.8, gel_kg=gel_kg)).keepings[0]
        harmful = [row.when.cautious for row in room.growth if row.harmful]
        return storage.earliest(room.mould.cautious, *harmful)

    enough, less = first(need.gel_kg), first(need.gel_kg - 2e-3)
    assert enough is None or enough >= days
    assert less < days


def test_dry_meat_needs_no_gel_and_wet_meat_breaks_before_gel_helps():
    assert keep(meat(0.55), packing(), 60.0).gel.gel_kg == 0.0
    wet = keep(meat(0.90), packing(), 60.0).gel
    assert wet.gel_kg is None or wet.gel_kg > wet.brittle_kg


def test_evening_out_takes_longer_in_thicker_slices_and_by_the_square():
    thin, thick = (packed_meat.equilibration_times(meat(0.75, thickness_m=one), ROOM) for one in (3e-3, 6e-3))
    assert thick[0] == pytest.approx(4.0 * thin[0])
    assert thin[0] < thin[1]
    one_sided = packed_meat.equilibration_times(meat(0.75, one_sided=True), ROOM)
    assert one_sided[0] == pytest.approx(4.0 * thick[0])
    assert packed_meat.equilibration_times(meat(0.75, thickness_m=None), ROOM) is None


def test_product_of_a_run_is_what_lies_on_the_trays_at_the_end():
    history = ds.run(warm_air())
    product = packed_meat.product_of(history)
    assert product.weight_kg == pytest.approx(history.weight_kg[-1].sum(), rel=1e-12)
    assert product.driest < product.wettest
    assert product.thickness_m == 6e-3
    fat = history.batch.meat.composition.fat * history.batch.meat.weight_kg
    assert product.fat_share * product.weight_kg == pytest.approx(fat, rel=1e-9)


# ---- the catalog


def test_every_organism_uses_its_lowest_published_limit_and_names_a_source():
    for one in growth_limits.organisms():
        assert one.water_activity == min(one.published)
        assert len(one.source) > 20
        assert one.group in ("pathogen", "mould")


def test_advice_is_the_shortest_that_fits_the_package():
    assert growth_limits.advice("room", "zip bag").days == 7.0
    assert growth_limits.advice("room", "jar").days == 14.0
    assert growth_limits.advice("fridge", "jar").days < growth_limits.advice("freezer", "jar").days


def test_meat_too_moist_for_the_room_is_told_the_weight_at_which_it_keeps_there():
    wet = meat(0.82)
    stored = keep(wet, packing())
    assert stored.keepings[0].days < stored.keepings[0].advice.days
    assert stored.dried_on_kg < wet.weight_kg
    # packed at that weight it keeps as long as advice says
    moisture = stored.dried_on_kg / wet.dry_mass_kg - 1.0
    activity = next(
        a for a in np.arange(0.81, 0.6, -0.01) if equilibrium_moisture(a, 298.15, RECIPE) <= moisture + 1e-9
    )
    drier = keep(replace(wet, moisture_db=moisture, wettest=activity, driest=activity), packing())
    assert drier.keepings[0].decided_by == "advice"
    assert drier.dried_on_kg is None
    assert (
        f"Dried on to {1e3 * stored.dried_on_kg:.0f} g it keeps"
        in in_short(stored, "met", Unit("mass", "g"))["Room"]
    )
