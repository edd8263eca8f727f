"""Numbers that can only be a slip of unit or order are refused from Python too, in one line with the likely slip."""

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.errors import InputError
from dryingsim.judge.doneness import judge_batch
from dryingsim.properties import moist_air, water
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity


def law(temperature_K=333.15, energy=32e3):
    return Diffusivity(
        reference_m2_s=3e-10,
        temperature_K=temperature_K,
        moisture_db=1.0,
        activation_energy_J_mol=energy,
        half_moisture_db=0.1,
        convention="dry_mass",
    )


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: water.saturation_pressure(np.array([300.0, 68.0])),
            "temperature = 68 is colder .* 68 degC are 341.15 K",
        ),
        (lambda: moist_air.wet_bulb(np.array([341.0, 68.0]), 1500.0, 101325.0), "68 degC are 341.15 K"),
        (
            lambda: moist_air.wet_bulb(341.0, 101325.0, 1500.0),
            "above the pressure, 1500 Pa; the order is temperature",
        ),
        (lambda: moist_air.wet_bulb(341.0, np.array([900.0, 2000.0]), 1500.0), "vapour_pressure = 2000 Pa"),
        (lambda: law(temperature_K=60), "Diffusivity, temperature_K = 60 .* 60 degC are 333.15 K"),
        (lambda: law(energy=32.0), "32 kJ/mol are 32000 J/mol"),
        (lambda: Uncertainty("lognormal", 40.0), "size = 40.0: a share .* 40 % are 0.4"),
        (lambda: ds.run(ds.demo_batch(), nodes=20.5), "nodes = 20.5: a whole number from 3 to 1000"),
        (lambda: ds.run(ds.demo_batch(), nodes=True), "nodes = True: a whole number"),
        (
            lambda: ds.Air(temperature_K=330.0, humidity=ds.Humidity(kind="room"), speed_m_s=None),
            "Air, speed_m_s = None: a number from 0 to 50 is expected",
        ),
        (
            lambda: judge_batch(ds.demo_batch()),
            r"a History is expected, as run\(batch\) returns it, not Batch",
        ),
    ],
)
def test_a_likely_slip_is_refused(call, message):
    with pytest.raises(InputError, match=message):
        call()


def test_what_is_right_passes():
    assert water.saturation_pressure(np.array([300.0, 341.15])).shape == (2,)
    assert np.isnan(water.saturation_pressure(np.array([np.nan, 300.0]))[0])
    assert moist_air.wet_bulb(373.15, 101325.0, 101325.0) == pytest.approx(373.15, abs=0.1)  # pure steam
    assert law(energy=0.0).value(333.15, 1.0) == pytest.approx(3e-10)
    assert LEAN_MEAT.activation_energy_J_mol > 1e3
    assert Uncertainty("lognormal", 0.4).deviation == 0.4
