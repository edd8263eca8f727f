"""What is wrong with a law of a user's own, found by trying it out."""

import pickle
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from dryingsim.batch.checks import brief
from dryingsim.batch.components import Components, Surface
from dryingsim.batch.stage_schema import AIR_RANGE_K
from dryingsim.constants import GAS_CONSTANT
from dryingsim.errors import InputError, SolverError
from dryingsim.properties.shrinkage import WATER_VOLUME

_T = np.array([278.15, 298.15, 318.15, 338.15, 358.15])[:, None]
_X = np.array([0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 4.0])
_HERE = "at 5 to 85 degC and 0.02 to 4 kg/kg"
_LEAST_M2_S, _MOST_M2_S = (
    1e-15,
    2e-8,
)  # of water in foods at 25 degC and more: water in water has 7e-9 at 85 degC (from memory)
_WET = 0.95  # what four times its dry matter in water holds, in any food
_LEAST_M3_KG, _MOST_M3_KG = 2e-4, 0.1  # dry solid is below 2000 kg/m3; a puffed food holds 10 kg/m3 of it
_FILLED = 0.95  # of the water's own volume: its density is known better than that
_TIMES_S = np.linspace(0.0, 86400.0, 289)
_LEAST_HEAT_J_MOL = (
    10e3  # of sorption, given off at most where water leaves: brines and syrups hardly reach it
)
_MOST_HEAT_J_MOL = (
    60e3  # of sorption, in any food but the driest; more is a slip in the dependence on temperature
)


def check_component(component: Any) -> tuple[str, ...]:
    """Say what is wrong with a law of diffusivity, sorption or shrinkage, or with air over time; nothing if all is well.

    Parameters
    ----------
    component : DiffusivityLaw, SorptionLaw, ShrinkageLaw, or callable
        As it is to stand in `Components`; a function of time as `air_stages` takes it.

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
    if isinstance(component, Surface):  # says so itself when it is made
        return ()
    if component is None:
        return (
            "a law is expected, with "
            + " or ".join(f"'{each.method}'" for each in _CONTRACTS)
            + ", not None",
        )
    contract = next((each for each in _CONTRACTS if hasattr(component, each.method)), None)
    if contract is None and callable(component) and not isinstance(component, type):
        return tuple(air_faults(component))
    contract = contract or _CONTRACTS[0]
    try:
        Components(**{contract.name: component})
    except InputError as error:
        return (str(error),)
    faults = tuple(_array_faults(contract, getattr(component, contract.method)))
    return faults or (*_size_faults(contract, component), *_faults_on_the_way(component, contract))


def _size_faults(contract: "_Contract", component: Any) -> Iterator[str]:
    return contract.size_faults(np.asarray(getattr(component, contract.method)(*contract.states)))


def warn_of_faults(components: Components) -> None:
    """Warn of laws whose numbers a check finds fault with: a run takes them, whatever comes of it.

    Workers that a law cannot be sent to say so themselves.

    Parameters
    ----------
    components : Components
    """
    for fault in _faults_of(components):
        warnings.warn(f"{fault} (see ds.check_component)", stacklevel=3)


def _faults_of(components: Components) -> list[str]:
    """Say which numbers of its laws are at fault, each under the name of its law."""
    laws = {contract.name: getattr(components, contract.name) for contract in _CONTRACTS}
    return [
        f"{name}, {fault}" for name, law in laws.items() if law is not None for fault in _known(name, law)
    ]


@contextmanager
def laws_named(components: Components) -> Iterator[None]:
    """Where the solver gives up on laws of a user's own, name them and what a check finds first: they may well be why.

    Parameters
    ----------
    components : Components
        That the work within is done with.
    """
    try:
        yield
    except SolverError as error:
        own = components.replaced
        if not own:
            raise
        named = ", ".join(f"{name} {brief(law)}" for name, law in own.items())
        found = next(iter(_faults_of(components)), "it finds no fault")
        raise SolverError(f"{error}; own laws: {named}; ds.check_component says: {found}") from error


@lru_cache(maxsize=64)
def _known(name: str, law: Any) -> tuple[str, ...]:
    """Say what is wrong with the numbers of a law in `Components`, under the name it has there."""
    contract = next(each for each in _CONTRACTS if each.name == name)
    with np.errstate(all="ignore"):
        faults = tuple(_array_faults(contract, getattr(law, contract.method)))
        return faults or tuple(_size_faults(contract, law))


def air_at(air: Callable[..., Any], time_s: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return temperature [K] and relative humidity [-] of air as a function of time; a number stands for all times.

    Parameters
    ----------
    air : callable
        As `air_stages` takes it.
    time_s : ndarray, shape (t,)
        [s].
    """
    parts = (np.asarray(part, dtype=float) for part in air(time_s))
    temperature, humidity = (part if part.ndim else np.full(time_s.shape, part) for part in parts)
    return temperature, humidity


def air_faults(air: Callable[..., Any]) -> Iterator[str]:
    """Say what is wrong with air as a function of time, tried over its first day.

    Parameters
    ----------
    air : callable
        As `air_stages` takes it.
    """
    try:
        temperature, humidity = air_at(air, _TIMES_S)
    except Exception as error:  # whatever a function may raise is its fault
        yield (
            "air: an array of times [s] must give two arrays, of temperature [K] and of relative humidity: "
            f"{type(error).__name__}: {error}"
        )
        return
    if temperature.shape != _TIMES_S.shape or humidity.shape != _TIMES_S.shape:
        yield (
            f"air: an array of times {_TIMES_S.shape} must give two arrays {_TIMES_S.shape}, "
            f"not {temperature.shape} and {humidity.shape}"
        )
        return
    if not (np.isfinite(temperature).all() and np.isfinite(humidity).all()):
        first = _TIMES_S[~(np.isfinite(temperature) & np.isfinite(humidity))][0]
        yield f"air: gives no finite number from {first:g} s on"
        return
    low, high = temperature.min(), temperature.max()
    if not (AIR_RANGE_K[0] <= low and high <= AIR_RANGE_K[1]):
        yield (
            f"air: temperatures of {low:.4g} to {high:.4g} are not those of drying air in K "
            f"({AIR_RANGE_K[0]:g} to {AIR_RANGE_K[1]:g}), over its first day"
        )
    if not (humidity.min() >= 0.0 and humidity.max() <= 1.0):
        yield (
            f"air: relative humidities of {humidity.min():.3g} to {humidity.max():.3g} are no fractions "
            "from 0 to 1, over its first day"
        )


def _array_faults(contract: "_Contract", law: Callable[..., Any]) -> Iterator[str]:
    name, states = contract.method, contract.states
    try:
        values = np.asarray(law(*states), dtype=float)
    except Exception as error:  # whatever a law may raise is its fault
        yield f"{name}: fails on arrays: {type(error).__name__}: {error}"
        return
    shape = np.broadcast_shapes(*(state.shape for state in states))
    if values.shape in {state.shape for state in states}:  # a law of one of them alone
        values = np.broadcast_to(values, shape)
    if values.shape != shape:
        given = " and ".join(f"{what} {state.shape}" for what, state in zip(contract.of, states, strict=True))
        yield f"{name}: arrays of {given} must give an array {shape}, not {values.shape}"
        return
    if not np.isfinite(values).all():
        yield f"{name}: gives no finite number {_HERE}"
        return
    each = np.broadcast_arrays(*states)
    rows = zip(*(array.ravel().tolist() for array in each), strict=True)
    try:
        alone = [float(law(*state)) for state in rows]
    except Exception as error:  # likewise
        yield f"{name}: fails on numbers: {type(error).__name__}: {error}"
        return
    if not np.allclose(np.reshape(alone, shape), values, rtol=1e-9, atol=0.0):
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
    if by_temperature.min() < -_LEAST_HEAT_J_MOL:
        yield "water_activity: falls where temperature rises; temperature comes in K"
    elif by_temperature.max() > _MOST_HEAT_J_MOL:
        yield (
            f"water_activity: its change with temperature is a heat of {by_temperature.max() / 1e3:.0f} kJ/mol; "
            "temperature comes in K"
        )


def _shrinkage_faults(values: np.ndarray) -> Iterator[str]:
    if np.any(values <= 0.0):
        yield f"volume: must be above 0 {_HERE}"
        return
    if values.min() < _LEAST_M3_KG or values.max() > _MOST_M3_KG:
        yield (
            f"volume: {values.min():.2g} to {values.max():.2g} {_HERE} cannot be m3 per kg of dry solid "
            f"({_LEAST_M3_KG:g} to {_MOST_M3_KG:g})"
        )
        return
    if np.any(np.diff(values) < 0.0):
        yield "volume: falls where moisture rises; is it given per kg of dry solid?"
    shrinks = np.any(np.diff(values) > 0.0)  # one that does not is a textbook's slab, on purpose
    if shrinks and np.any(values < _FILLED * WATER_VOLUME * _X):
        yield "volume: is smaller than that of the water in it; is it given per kg of dry solid?"


def _faults_on_the_way(component: Any, contract: "_Contract") -> Iterator[str]:
    name, states = contract.method, contract.states
    try:
        back = pickle.loads(pickle.dumps(component))
    except Exception as error:  # whatever a class may raise is its fault
        yield f"it does not go to workers: {error}; its class must stand in a module"
        return
    if not np.array_equal(getattr(back, name)(*states), getattr(component, name)(*states)):
        yield "it comes to workers as another law: what it holds is lost when pickled"
    if back != component:
        yield "its copy is not equal to it: make it a frozen dataclass"


@dataclass(frozen=True, slots=True)
class _Contract:
    """What is asked of a component: its name in `Components`, its method, what that is asked for, what its size must be."""

    name: str
    method: str
    of: tuple[str, ...]
    states: tuple[np.ndarray, ...]
    size_faults: Callable[[np.ndarray], Iterator[str]]


_T_X = (("temperature", "moisture"), (_T, _X))
_CONTRACTS = (
    _Contract("diffusivity", "value", *_T_X, _diffusivity_faults),
    _Contract("sorption", "water_activity", *_T_X, _sorption_faults),
    _Contract("shrinkage", "volume", ("moisture",), (_X,), _shrinkage_faults),
)
