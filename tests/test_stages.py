"""Stages beside drying air: hot liquid, steam, rest; what they do to temperature, weight, bacteria, and bad input."""

from dataclasses import replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.catalog.appliances import find_appliance
from dryingsim.engine.batch_group import BatchGroup, run_group
from dryingsim.errors import InputError
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.properties.cooking_loss import let_go, water_kept
from validation.dipped_slices import temperatures_in_liquid

MEAT = """
[meat]
cut = "beef eye of round"
thickness = [{ value = "4 mm", share = "50 %" }, { value = "6 mm", share = "50 %" }]
length = "120 mm"
width = "50 mm"
weight = "0.5 kg"
[marinade]
salt = "15 g/kg"
[room]
temperature = "21 degC"
humidity = "45 %"
"""
HEAT = """
[[stage]]
name = "heat the slices"
marinade = "boiling"
until = { core = "160 degF" }
"""
DRY = """
[[stage]]
name = "drying"
air = "68 degC"
speed = "1 m/s"
duration = "2 h"
"""
REST = """
[[stage]]
name = "rest"
rest = "room"
duration = "3 h"
"""


def batch(*stages):
    return ds.parse_batch(MEAT + "".join(stages), "test")


def in_stack(one):
    stack = find_appliance("test", "stacked dehydrator").appliance("test")
    speed = stack.trays.speed_m_s
    stages = [
        replace(stage, air=replace(stage.air, speed_m_s=speed)) if stage.dries else stage
        for stage in one.stages
    ]
    return replace(one, appliance=stack, stages=tuple(stages))


@pytest.fixture(scope="module")
def heated():
    return ds.run(batch(HEAT, DRY, REST, DRY), nodes=12)


def test_liquid_heats_as_the_exact_solution_says(heated):
    until = heated.time_s <= heated.stage_end_s[0]
    exact = temperatures_in_liquid(
        replace(heated.batch, meat=replace(heated.batch.meat, width_m=10.0)),
        heated.time_s[until],
        heated.batch.stages[0].air.temperature_K,
        nodes=61,  # of which every fourth lies where one of 16 does
    )[:, ::4]
    wide = ds.run(
        replace(
            heated.batch,
            meat=replace(heated.batch.meat, width_m=10.0),
            stages=(replace(heated.batch.stages[0], until=None, duration_s=60.0), *heated.batch.stages[1:2]),
        ),
        nodes=16,
    )
    at = np.interp(heated.time_s[until], wide.time_s, np.arange(wide.time_s.size))
    low = at.astype(int)
    got = wide.temperature_K[low] + (at - low)[:, None, None] * (
        wide.temperature_K[np.minimum(low + 1, wide.time_s.size - 1)] - wide.temperature_K[low]
    )
    # 1 K of 96 K: steps of the default tolerance, straight lines between records. In the first second the face is
    # up to 3 K late: what 16 nodes make of a jump.
    later = heated.time_s[until] > 1.0
    np.testing.assert_allclose(got[later], exact[later], atol=1.0)


def test_the_stage_ends_when_the_thickest_is_through(heated):
    at = int(np.searchsorted(heated.time_s, heated.stage_end_s[0]))
    core = heated.core_temperature_K[at]
    assert core.min() == pytest.approx(344.26, abs=0.6)  # half a second of heating
    assert core[0] > core[1]


def test_juice_drips_and_the_balances_close(heated):
    lost = heated.weight_kg[0].sum() - heated.weight_kg[-1].sum()
    juice = (heated.drip_kg_m2[-1] * heated.area_m2).sum()
    vapour = (heated.vapour_kg_m2[-1] * heated.area_m2).sum()
    assert juice + vapour == pytest.approx(lost, rel=1e-9)
    assert 0.05 < juice / heated.weight_kg[0].sum() < 0.35
    assert heated.water_closure < 1e-9
    assert heated.energy_closure < 1e-9


def test_juice_is_what_hot_meat_does_not_hold():
    assert water_kept(300.0) == 1.0
    assert np.all(np.diff(water_kept(np.linspace(300.0, 373.0, 50))) <= 0.0)
    # 64.7 % of water at 70 degC, as printed, of meat with 73.5 %
    assert water_kept(343.15) * 0.735 / 0.265 == pytest.approx(0.647 / 0.353, rel=2e-3)
    assert let_go(0.0) == 0.0


def test_nothing_dries_at_rest_and_moisture_evens_out(heated):
    stage = heated.stage == 2
    assert np.ptp(heated.weight_kg[stage].sum(axis=1)) < 1e-9
    spread = np.ptp(heated.moisture_db[stage], axis=1)
    assert (spread[-1] < 0.2 * spread[0]).all()
    np.testing.assert_allclose(heated.temperature_K[stage][-1], heated.batch.room.temperature_K, atol=0.1)


def test_steam_heats_more_slowly_than_liquid():
    steamed = ds.run(batch(HEAT.replace("marinade", "steam"), DRY), nodes=8)
    liquid = ds.run(batch(HEAT, DRY), nodes=8)
    assert liquid.stage_end_s[0] < steamed.stage_end_s[0] < 300.0


def test_slices_heated_first_are_judged_by_what_heated_them(heated):
    judged = judge_batch_lethality(heated)
    assert judged.grade == "met"
    assert judged.advice.before_drying
    cold = judge_batch_lethality(ds.run(batch(DRY), nodes=12))
    assert cold.grade != "met"
    assert not cold.advice.before_drying


@pytest.mark.parametrize("place", ["given air", "an appliance"])
def test_many_slices_come_to_the_same(place):
    one = batch(HEAT, DRY)
    one = in_stack(one) if place == "an appliance" else one
    history = ds.run(one, nodes=12)
    numbers, ends = run_group(
        BatchGroup.as_meant([one]),
        organism="salmonella",
        levels=(),
        nodes=12,
        tolerance=5e-4,
        longest_s=86400.0,
    )
    assert ends[0] == pytest.approx(history.stage_end_s[-1], rel=5e-3)
    worst = judge_batch_lethality(history).worst
    assert numbers["lower"].min() == pytest.approx(worst.lower, abs=0.05)
    assert numbers["water_closure"].max() < 1e-9


def test_slices_wait_beside_their_appliance():
    history = ds.run(in_stack(batch(HEAT, DRY, REST, DRY)), nodes=8)
    chamber = history.chamber
    assert chamber.water_closure < 1e-8
    assert chamber.energy_closure < 1e-5
    resting = history.stage == 2
    assert np.ptp(chamber.shell_K[resting]) < 1e-9
    np.testing.assert_allclose(history.air_temperature_K[resting], history.batch.room.temperature_K)


@pytest.mark.parametrize(
    "text",
    ['marinade = "85 degC"', 'water = "85 degC"', 'steam = "boiling"', 'rest = "4 degC"', 'rest = "room"'],
)
def test_a_file_says_it_again(text):
    one = batch(f'[[stage]]\nname = "first"\n{text}\nduration = "5 min"\n', DRY, REST, DRY)
    assert ds.parse_batch(one.to_toml(), "again") == one


def test_a_boil_in_the_mountains_is_cooler():
    high = ds.parse_batch(MEAT + 'altitude = "2000 m"\n' + HEAT + DRY, "test")
    assert 365.0 < high.stages[0].air.temperature_K < 368.0  # 93.2 degC: standard atmosphere and steam tables
    assert 'marinade = "boiling"' in high.to_toml()


@pytest.mark.parametrize(
    ("stages", "told"),
    [
        ([HEAT], "no stage dries the slices"),
        ([DRY, HEAT, DRY], "marinade after drying would wet the slices again"),
        ([HEAT.replace("160", "220"), DRY], "the core cannot reach 104.4 degC"),
        ([HEAT.replace('core = "160 degF"', "water_activity = 0.8"), DRY], "nothing dries in it"),
        (
            [HEAT + 'speed = "1 m/s"\n', DRY],
            "this goes with drying air; the slices of this stage are in marinade",
        ),
        ([HEAT + 'rest = "room"\n', DRY], "the slices of this stage are in marinade already"),
        (
            [HEAT.replace("boiling", "hot"), DRY],
            'marinade = \'hot\': a temperature with its unit is expected, for example "boiling" or "85 degC"',
        ),
        ([HEAT.replace("until", "untill"), DRY], "until"),
        ([HEAT.replace("marinade", "liquid"), DRY], 'say which: marinade = "boiling", or water = "boiling"'),
    ],
)
def test_what_is_wrong_is_told_on_one_line(stages, told):
    with pytest.raises(InputError) as problem:
        batch(*stages)
    assert told in str(problem.value)
    assert "\n" not in str(problem.value)


def test_ground_meat_is_not_put_into_liquid():
    with pytest.raises(InputError, match="ground meat would fall apart in liquid; heat it in steam"):
        ds.parse_batch(MEAT.replace("[meat]", '[meat]\nform = "ground"') + HEAT + DRY, "test")
    made = batch(HEAT, DRY)
    with pytest.raises(InputError, match="fall apart"):
        ds.run(replace(made, meat=replace(made.meat, form="minced")))
    steamed = MEAT.replace("[meat]", '[meat]\nform = "ground"') + HEAT.replace("marinade", "steam") + DRY
    assert ds.parse_batch(steamed, "test").heated_first


def brick_core_K(time_s, thickness_m, width_m, start_K, around_K):
    """Middle of a bar whose faces are at the liquid's temperature from the start: Newman's product of two slabs."""
    k = np.arange(200)
    way = 1.0
    for size in (thickness_m, width_m):
        rate = ((2 * k + 1) * np.pi / size) ** 2 * 1.5e-7  # m2/s, above what raw lean meat has (0.12-0.14e-6)
        way *= min(1.0, float((4.0 / np.pi * (-1.0) ** k / (2 * k + 1) * np.exp(-rate * time_s)).sum()))
    return around_K - (around_K - start_K) * way


@pytest.mark.parametrize(
    ("thickness_m", "width_m", "time_s"), [(0.005, 0.015, 25.0), (0.008, 0.025, 45.0), (0.02, 0.05, 120.0)]
)
def test_no_middle_gets_hotter_in_liquid_than_faces_at_its_temperature_make_it(thickness_m, width_m, time_s):
    """Heat through the long edges stays near them: it must not warm the middle at once."""
    one = batch(HEAT, DRY)
    thick = replace(one.meat.classes[0], thickness_m=thickness_m, share=1.0)
    first = replace(one.stages[0], until=None, duration_s=time_s)
    dry = replace(one.stages[1], until=None, duration_s=600.0)
    whole = replace(one, meat=replace(one.meat, classes=(thick,), width_m=width_m), stages=(first, dry))
    run = ds.run(whole)
    at = int(np.searchsorted(run.time_s, time_s))
    bound = brick_core_K(time_s, thickness_m, width_m, whole.meat.temperature_K, first.air.temperature_K)
    assert run.core_temperature_K[at, 0] < bound
    assert run.core_temperature_K[at, 0] > whole.meat.temperature_K + 5.0
