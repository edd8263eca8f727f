"""Remedies are runs of their own: what each changes, what it gains, and what cannot be simulated."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.catalog.ingredients import find_ingredient
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.errors import InputError
from dryingsim.judge import remedies as module
from dryingsim.judge.remedies import BOIL_S, HUMID_S, OVEN_K, OVEN_S, remedied, remedies
from dryingsim.show.lethality.words import CHANGES

pytestmark = pytest.mark.usefixtures("coarse_steps")

NODES = 16


def demo(**meat):
    batch = warm_air()
    classes = (ds.ThicknessClass(thickness_m=0.006, share=1.0),)
    return replace(batch, meat=replace(batch.meat, classes=classes, **meat), stages=batch.stages[:1])


def short(**meat):
    """An hour of the same, where only the change itself matters."""
    batch = demo(**meat)
    return replace(batch, stages=(replace(batch.stages[0], duration_s=3600.0, until=None),))


def tried(batch, *names, nodes=8):
    """Return the batch as it is and with these changes alone, by name."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(module, "CHANGES", {name: module.CHANGES[name] for name in names})
        return {one.name: one for one in remedies(batch, nodes=nodes)}


@pytest.fixture(scope="module")
def found():
    return {one.name: one for one in remedies(demo(), nodes=NODES)}


def entries(remedy):
    return {entry.organism: entry for entry in remedy.lethality.organisms}


def test_all_are_there_and_simulated(found):
    names = [
        "heated first",
        "boiled first",
        "humid first",
        "hotter first",
        "oven after",
        "thinner",
    ]
    assert list(CHANGES) == ["as it is", *names]
    assert set(found) == set(CHANGES)
    assert all(one.history is not None and one.problem == "" for one in found.values())
    assert set(found["as it is"].gains.values()) == {(0.0, 0.0)}


def test_gains_are_differences_of_judgements(found):
    for one in found.values():
        for key, gain in one.gains.items():
            new, old = entries(one)[key], entries(found["as it is"])[key]
            assert gain == (new.lower - old.lower, new.best - old.best)


def test_heating_first_or_humid_first_is_what_helps(found):
    assert found["as it is"].lethality.grade == "below target"
    assert found["heated first"].lethality.grade == "met"
    assert found["boiled first"].lethality.grade == "met"
    # humid air that was not measured reaches it as computed only
    assert found["humid first"].lethality.met_as_computed
    assert found["humid first"].lethality.grade == "met only if measured"
    assert (
        found["humid first"].lethality.warnings == ()
    )  # what to measure is searched for where a batch of its own is judged
    assert not found["humid first"].lethality.table.humidity_met
    assert found["heated first"].lethality.advice.before_drying


def test_hotter_dry_air_and_thinner_slices_hardly_reduce_more_on_the_face(found):
    for name in ("hotter first", "thinner"):
        assert all(abs(best) < 1.0 for _, best in found[name].gains.values())


def test_an_oven_after_drying_adds_some_and_is_no_process_of_its_own(found):
    # published: about 2 log on slices, 3 on formed strips, of 5 required
    for lower, best in found["oven after"].gains.values():
        assert 0.5 < best < 3.0
        assert lower < 1.0
    assert found["oven after"].lethality.grade != "met"


def test_the_oven_goes_on_where_the_drying_ended(found):
    base, after = found["as it is"].history, found["oven after"].history
    n = base.time_s.size
    np.testing.assert_allclose(after.temperature_K[:n], base.temperature_K, atol=1e-9)
    assert after.time_s[-1] - base.time_s[-1] == pytest.approx(OVEN_S)
    assert (np.diff(after.time_s) > 0.0).all()
    assert np.abs(after.temperature_K[n] - base.temperature_K[-1]).max() < 15.0  # 5 s later: no jump
    assert (after.air_temperature_K[n:] == OVEN_K).all()
    assert (after.mean_moisture_db[-1] < base.mean_moisture_db[-1]).all()
    assert after.temperature_K[-1].min() > base.temperature_K[-1].min() + 20.0
    assert after.water_activity.shape == after.temperature_K.shape


def test_time_and_doneness(found):
    assert 20.0 < found["heated first"].extra_s < 120.0
    assert found["heated first"].done_shift_s < 0.0  # it starts warm
    assert found["humid first"].extra_s == HUMID_S
    assert found["humid first"].done_shift_s > 0.5 * HUMID_S
    assert found["hotter first"].done_shift_s < 0.0
    assert found["thinner"].done_shift_s < -0.3 * found["as it is"].done_s
    assert found["oven after"].done_shift_s == pytest.approx(0.0)


def test_what_meets_the_target_comes_first_the_soonest_dry_in_front(found):
    grades = [one.lethality.grade for one in found.values()][1:]
    assert grades == sorted(grades, key=["met", "met only if measured", "not shown", "below target"].index)
    soon = [one.done_s for one in found.values() if one.lethality.grade == "met"]
    assert soon == sorted(soon)
    assert len(soon) >= 2


def test_a_remedy_is_a_batch_that_runs_as_such(found):
    changed = found["heated first"].batch
    assert changed.stages[0].kind == "marinade"
    assert ds.parse_batch(changed.to_toml(), "safer") == changed
    assert remedied(demo(), "heated-first") == changed
    again = tried(replace(changed, meat=short().meat), "heated first", nodes=6)
    assert "already" in again["heated first"].problem
    with pytest.raises(InputError, match="'thiner': did you mean 'thinner'"):
        remedied(demo(), "thiner")


def test_minced_strips_are_steamed_and_what_has_no_marinade_left_goes_into_water():
    """Ground meat would fall apart in liquid, and a little marinade does not stay hot."""
    bare, little = short(), Portion(find_ingredient("name", "water"), 0.2)
    bare = replace(bare, marinade=ds.Marinade())
    soak = Soak(portions=(little,), time_s=3600.0, temperature_K=277.0)
    poured = replace(short(), marinade=replace(ds.demo_batch().marinade, soak=soak))
    for batch, kind in (
        (short(form="minced"), "steam"),
        (short(), "marinade"),
        (bare, "water"),
        (poured, "water"),
    ):
        for name in ("heated first", "boiled first"):
            assert remedied(batch, name).stages[0].kind == kind


@pytest.mark.slow
def test_thin_slices_leave_the_liquid_too_soon_for_the_lower_bound():
    thin = short()
    thin = replace(thin, meat=replace(thin.meat, classes=(ds.ThicknessClass(thickness_m=0.003, share=1.0),)))
    got = tried(thin, "heated first", "boiled first")
    assert got["heated first"].lethality.grade == "not shown"
    boiled = got["boiled first"]
    assert boiled.extra_s == BOIL_S
    assert boiled.lethality.grade == "met"


def test_poultry_is_heated_further():
    got = tried(short(species="poultry", name="poultry"), "heated first")["heated first"]
    assert got.history.temperature_K.min(axis=(1, 2)).max() >= 347.04 - 0.01


def test_a_boil_at_altitude_is_cooler(found):
    high = short()
    high = replace(high, room=replace(high.room, pressure_Pa=80000.0))
    got = tried(high, "heated first")["heated first"]
    assert got.batch.stages[0].air.temperature_K == pytest.approx(
        366.6, abs=0.3
    )  # steam tables: 93.5 degC at 80 kPa
    assert got.extra_s > found["heated first"].extra_s


@pytest.mark.slow
def test_in_an_appliance_every_tray_is_heated_and_what_it_cannot_do_does_not_count():
    from dryingsim.batch.catalog.appliances import find_appliance

    alone = replace(warm_air(), stages=short().stages)  # three thicknesses
    loaded = replace(alone, appliance=find_appliance("test", "stacked dehydrator").appliance("test"))
    got = tried(loaded, "humid first", "oven after", "boiled first", "hotter first")
    assert got["humid first"].problem == "the stacked dehydrator has no steam"
    assert "does not go as hot" in got["oven after"].problem
    assert [one.lethality is None for one in got.values()][-2:] == [True, True]
    slabs = got["as it is"].history.area_m2.size
    assert slabs > 3
    assert got["boiled first"].lethality.grade == "met"
    assert len(got["boiled first"].lethality.slab_tray) == slabs
    limit = loaded.appliance.heater.highest_K
    assert got["hotter first"].history.batch.stages[0].air.temperature_K == limit


def test_what_cannot_be_simulated_says_why():
    hot = short()
    air = replace(hot.stages[0].air, temperature_K=355.15)
    hot = replace(hot, stages=(replace(hot.stages[0], air=air),))
    got = tried(hot, "hotter first")["hotter first"]
    assert got.lethality is None
    assert got.history is None
    assert got.gains == {}
    assert "as hot already" in got.problem


def test_what_is_heated_for_as_long_already_is_not_heated_for_less():
    batch = ds.demo_batch()
    heating, drying = batch.stages
    long = replace(heating, until=None, duration_s=600.0)
    with pytest.raises(InputError, match="heated for as long already"):
        remedied(replace(batch, stages=(long, drying)), "boiled first")
    # by a temperature inside, which thick slices take longer for: told once that is simulated
    thick = replace(batch.meat.classes[0], thickness_m=0.025, share=1.0)
    slow = replace(batch, meat=replace(batch.meat, classes=(thick,)))
    assert tried(slow, "boiled first")["boiled first"].problem == "the slices are heated for as long already"
    # an hour of what does not boil is no reason not to boil them
    warm = replace(heating, until=None, duration_s=3600.0, air=replace(heating.air, temperature_K=344.0))
    assert tried(replace(batch, stages=(warm, drying)), "boiled first")["boiled first"].problem == ""
    # what two stages do counts together; steam that long goes on to liquid
    halves = [replace(long, kind="steam", duration_s=150.0, name=name) for name in ("one", "other")]
    assert remedied(replace(batch, stages=(*halves, drying)), "boiled first").stages[0].kind == "marinade"
