"""Batches built in Python: what can only be a slip is refused before it gives an answer."""

import math
import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds

BATCH = warm_air()
MEAT, STAGE = BATCH.meat, BATCH.stages[0]


@pytest.mark.parametrize(
    ("slip", "says"),
    [
        (
            lambda: replace(BATCH.room, relative_humidity=45.0),
            "Room, relative_humidity = 45.0 is outside 0 to 1",
        ),
        (lambda: replace(BATCH.room, temperature_K=21.0), "Room, temperature_K = 21.0 is outside"),
        (lambda: replace(STAGE.air, temperature_K=68.0), "Air, temperature_K = 68.0 is outside 250 to 450"),
        (lambda: replace(STAGE.air, temperature_K=math.nan), "Air, temperature_K = nan is outside"),
        (lambda: replace(STAGE.air, speed_m_s=-1.0), "Air, speed_m_s = -1.0 is outside"),
        (lambda: replace(STAGE, duration_s=-60.0), "Stage, duration_s = -60.0 is outside"),
        (lambda: ds.Humidity(kind="rh", value=0.5), "Humidity, kind = 'rh': one of '"),
        (lambda: ds.Humidity(kind="relative", value=50.0), "Humidity, value = 50.0 is outside 0 to 1"),
        (lambda: ds.Targets(water_activity=85.0), "Targets, water_activity = 85.0 is outside"),
        (lambda: ds.Until(water_activity=85), "Until, water_activity = 85 is outside"),
        (lambda: replace(MEAT, weight_kg=-1.0), "Meat, weight_kg = -1.0 is outside"),
        (lambda: replace(MEAT, weight_kg="1 kg"), "Meat, weight_kg = '1 kg': a number from"),
        (lambda: replace(MEAT, classes=MEAT.classes[:1]), "shares of the classes: the sum = 0.25 is outside"),
        (lambda: replace(MEAT, form="ground"), "did you mean 'minced'?"),
        (lambda: replace(MEAT.classes[0], thickness_m=5.0), "ThicknessClass, thickness_m = 5.0 is outside"),
        (lambda: replace(MEAT.composition, water=0.2), "Composition, the sum"),
        (lambda: ds.Marinade(salt_kg_kg=1.5), "Marinade, salt_kg_kg = 1.5 is outside"),
        (lambda: replace(BATCH, support="Mesh"), "did you mean 'mesh'?"),
        (lambda: replace(ds.LEAN_MEAT, convention="Dry_mass"), "'dry_mass' or 'local' is expected"),
        (lambda: replace(ds.LEAN_MEAT, reference_m2_s=0.0), "a number above 0 is expected"),
    ],
)
def test_slips_are_told_where_they_are_made(slip, says):
    with pytest.raises(ds.InputError, match=re.escape(says)) as caught:
        slip()
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: ds.run("mine.toml"), "a Batch is expected, as load_batch returns it, not str"),
        (lambda: ds.run(BATCH, nodes=1), "nodes = 1 is outside 3 to 1000"),
        (lambda: ds.run(BATCH, tolerance=0.0), "tolerance = 0.0 is outside"),
        (lambda: ds.run(BATCH, interval_s=0.0), "interval_s = 0.0 is outside"),
        (lambda: ds.run(BATCH, diffusivity=5e-10), "diffusivity: ds.Diffusivity(...), or an object with"),
        (lambda: ds.run(replace(BATCH, stages=())), "at least one stage is needed"),
        (lambda: ds.run(replace(BATCH, stages=(replace(STAGE, duration_s=None, until=None),))), "never ends"),
        # a wet bulb above the air's own temperature: no such air
        (
            lambda: ds.run(
                replace(
                    BATCH,
                    stages=(
                        replace(
                            STAGE, air=replace(STAGE.air, humidity=ds.Humidity(kind="wet_bulb", value=350.0))
                        ),
                    ),
                )
            ),
            "stage 1 (drying)",
        ),
        (
            lambda: replace(STAGE, air=lambda t: STAGE.air),
            "Stage, air is a function; one ds.Air(...) is expected",
        ),
        (lambda: replace(STAGE, air=340.0), "Stage, air = 340.0: an Air is expected, such as ds.Air(...)"),
        (lambda: replace(STAGE, until="dry"), "Stage, until = 'dry': an Until is expected"),
        (lambda: ds.vary(BATCH, "meat.thickness", "3, 4 mm"), "the path of a batch file is expected"),
        (
            lambda: ds.spread(BATCH, {"thickness_between": 0.1}),
            "uncertainties, thickness_between: an Uncertainty is expected",
        ),
        (
            lambda: ds.spread(BATCH, {"thicknes": ds.Uncertainty("normal", 0.1)}),
            "uncertainties has no key 'thicknes'",
        ),
    ],
)
def test_so_are_slips_in_calls(call, says):
    with pytest.raises(ds.InputError, match=re.escape(says)):
        call()


def test_numbers_of_numpy_are_numbers():
    assert replace(STAGE.air, temperature_K=np.float64(340.0)).temperature_K == 340.0
    assert replace(MEAT, weight_kg=np.float32(1.0)).weight_kg == 1.0


def test_a_batch_can_be_a_key():
    batch = ds.demo_batch()
    assert {batch: 1}[ds.demo_batch()] == 1


@pytest.mark.parametrize("form", ["sliced", "pounded"])
def test_meat_that_is_called_ground_is_not_built_as_muscle_either(form):
    meat = ds.demo_batch().meat
    with pytest.raises(ds.InputError, match="is ground: form = 'minced' is expected"):
        replace(meat, name="ground beef", form=form)
    assert replace(meat, name="ground beef", form="minced").form == "minced"
