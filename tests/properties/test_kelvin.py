"""Every public function of properties that takes a temperature refuses one in degrees Celsius, and takes it in kelvin."""

import importlib
import inspect
import pkgutil

import numpy as np
import pytest

import dryingsim as ds
from dryingsim import properties
from dryingsim.errors import InputError
from dryingsim.properties.freezing import freezing_meat

LEAN = {"water": 0.72, "protein": 0.22, "fat": 0.05, "carbohydrate": 0.0, "ash": 0.01}
# what else such functions take, by the names of their parameters
OTHERS = {
    "law": ds.LEAN_MEAT,
    "vapour_pressure": 1200.0,
    "pressure": 101325.0,
    "length_m": 0.1,
    "virtual_difference": 5.0,
    "food": freezing_meat(**LEAN),
    "water": 0.72,
    "component": "protein",
    "fractions": LEAN,
    "humidity_ratio": 0.01,
    "relative_humidity": 0.5,
    "at_38C": 1.0,
    "activation_energy": 33e3,
    "permeance": 1e-11,
    "humidity_difference": 0.5,
    "water_activity": 0.5,
    "volume": 1e-3,
    "moisture": 0.3,
    "moisture_db": 0.3,
    "recipe": ds.Recipe(0.22),
    **{key: value for key, value in LEAN.items() if key != "water"},
    "salt": 0.01,
    "sugar": 0.0,
}
TEMPERATURES = {
    "temperature": 300.0,
    "temperature_K": 300.0,
    "temperature_film": 300.0,
    "wet_bulb": 295.0,
    "freezing_K": 301.0,  # above the temperature, as the formula wants
}


def _cases():
    functions = [ds.LEAN_MEAT.value]
    for found in pkgutil.iter_modules(properties.__path__):
        module = importlib.import_module(f"dryingsim.properties.{found.name}")
        functions += [
            function
            for name, function in vars(module).items()
            if inspect.isfunction(function)
            and function.__module__ == module.__name__
            and not name.startswith("_")
            and name != "check_kelvin"
        ]
    for function in functions:
        names = list(inspect.signature(function).parameters)
        for name in sorted(set(names) & set(TEMPERATURES)):
            yield pytest.param(
                function, name, id=f"{function.__module__.split('.')[-1]}.{function.__name__}, {name}"
            )


@pytest.mark.parametrize(("function", "name"), list(_cases()))
def test_celsius_is_refused_and_kelvin_taken(function, name):
    given = {key: (TEMPERATURES | OTHERS)[key] for key in inspect.signature(function).parameters}
    function(**given)
    for celsius in (25.0, 25, np.float64(68.0), np.array(135.0), np.array([20, 30])):
        with pytest.raises(InputError, match="kelvin are expected") as caught:
            function(**given | {name: celsius})
        assert "\n" not in str(caught.value)


def test_every_function_with_a_temperature_was_found():
    assert len(list(_cases())) >= 30


def test_what_a_solver_tries_passes():
    assert np.all(np.isfinite(properties.water.liquid_enthalpy(np.array([-1200.0, 300.0]))))
    assert np.isnan(properties.water.liquid_enthalpy(np.nan))
