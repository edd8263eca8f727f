"""What is wrong with a law of a user's own, found by trying it out."""

import pickle
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np

from dryingsim.batch.components import Components, HeldSurface
from dryingsim.constants import GAS_CONSTANT
from dryingsim.errors import InputError

_T = np.array([278.15, 298.15, 318.15, 338.15, 358.15])[:, None]
_X = np.array([0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0])
_HERE = "at 5 to 85 degC and 0.02 to 4 kg/kg"
_LEAST_M2_S, _MOST_M2_S = 1e-15, 1e-7  # of water in foods at 25 degC and more: beyond, other units are meant
_WET = 0.95  # what four times its dry matter in water holds, in any food
_MOST_HEAT_J_MOL = (
    60e3  # of sorption, in any food but the driest; more is a slip in the dependence on temperature
)


def check_component(component: Any) -> tuple[str, ...]:
    """Say what is wrong with a law of diffusivity or of sorption; nothing if all is well.

    Parameters
    ----------
    component : DiffusivityLaw or SorptionLaw
        As it is to stand in `Components`.

    Returns
    -------
    tuple of str
        A sentence for each fault: of its methods, its arrays, its size (units), its rise and fall, its way to workers.

    Examples
    --------
    >>> from dryingsim import LEAN_MEAT
    >>> check_component(LEAN_MEAT)
    ()
    >>> class Bare:
    ...     convention = "local"
    ...     def value(self, temperature, moisture_db):
    ...         return 3e-6  # cm2/s, and whatever the shape
    >>> check_component(Bare())[0]
    'value: arrays of temperature (5, 1) and moisture (8,) must give an array (5, 8), not ()'
    """
    if isinstance(component, HeldSurface):  # says so itself when it is made
        return ()
    of_sorption = hasattr(component, "water_activity")
    try:
        Components(**{"sorption" if of_sorption else "diffusivity": component})
    except InputError as error:
        return (str(error),)
    name = "water_activity" if of_sorption else "value"
    law = getattr(component, name)
    faults = tuple(_array_faults(name, law))
    if faults:
        return faults
    values = np.asarray(law(_T, _X))
    of_size = _sorption_faults(values) if of_sorption else _diffusivity_faults(values)
    return (*of_size, *_faults_on_the_way(component, name))


def _array_faults(name: str, law: Callable[..., Any]) -> Iterator[str]:
    try:
        values = np.asarray(law(_T, _X), dtype=float)
    except Exception as error:  # whatever a law may raise is its fault
        yield f"{name}: fails on arrays: {type(error).__name__}: {error}"
        return
    shape = (_T.size, _X.size)
    if values.shape != shape:
        yield (
            f"{name}: arrays of temperature {_T.shape} and moisture {_X.shape} must give an array {shape}, "
            f"not {values.shape}"
        )
        return
    if not np.isfinite(values).all():
        yield f"{name}: gives no finite number {_HERE}"
        return
    alone = np.array([[float(law(t, x)) for x in _X] for t in _T[:, 0]])
    if not np.allclose(alone, values, rtol=1e-9, atol=0.0):
        yield f"{name}: gives another number for an array than for its elements one by one"


def _diffusivity_faults(values: np.ndarray) -> Iterator[str]:
    if np.any(values <= 0.0):
        yield f"value: must be above 0 {_HERE}"
        return
    warm = values[1:]
    if warm.min() < _LEAST_M2_S or warm.max() > _MOST_M2_S:
        yield (
            f"value: {warm.min():.2g} to {warm.max():.2g} {_HERE} cannot be m2/s of water in a food "
            f"({_LEAST_M2_S:g} to {_MOST_M2_S:g})"
        )
    if np.any(np.diff(values, axis=0) < 0.0):
        yield "value: falls with temperature; is it given as value(temperature, moisture), in K and kg/kg?"


def _sorption_faults(values: np.ndarray) -> Iterator[str]:
    if values.min() <= 0.0 or values.max() > 1.0:
        yield (
            f"water_activity: {values.min():.2g} to {values.max():.2g} {_HERE} is not a fraction above 0 and up to 1; "
            "where the equation passes 1, give 1"
        )
        return
    if np.any(np.diff(values, axis=1) < 0.0):
        yield "water_activity: falls where moisture rises; is it given as water_activity(temperature, moisture)?"
    if values[:, -1].min() < _WET:
        yield f"water_activity: only {values[:, -1].min():.2g} at 4 kg/kg, where any food is as good as water; percent?"
    by_temperature = np.diff(np.log(values), axis=0) / np.diff(-1.0 / (GAS_CONSTANT * _T), axis=0)
    if np.abs(by_temperature).max() > _MOST_HEAT_J_MOL:
        yield (
            f"water_activity: its change with temperature is a heat of {np.abs(by_temperature).max() / 1e3:.0f} kJ/mol; "
            "temperature comes in K"
        )


def _faults_on_the_way(component: Any, name: str) -> Iterator[str]:
    try:
        back = pickle.loads(pickle.dumps(component))
    except Exception as error:  # whatever a class may raise is its fault
        yield f"it does not go to workers: {error}; its class must stand in a module"
        return
    if not np.array_equal(getattr(back, name)(_T, _X), getattr(component, name)(_T, _X)):
        yield "it comes to workers as another law: what it holds is lost when pickled"
    if back != component:
        yield "its copy is not equal to it: make it a frozen dataclass"
