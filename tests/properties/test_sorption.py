"""A law of sorption of a user's own: its inverse, its slopes, the solver's view of it."""

from dataclasses import dataclass

import numpy as np

from dryingsim.constants import GAS_CONSTANT
from dryingsim.properties.sorption import Curve, OwnSorption
from dryingsim.properties.water_activity import Recipe, SorptionTable, water_activity

LEAN = Recipe(protein=0.879)


@dataclass(frozen=True)
class Oswin:
    """X = A (a/(1-a))^B with A falling with temperature: the heat is R T^2 (-dA/dT)/(A B) (1 - a)."""

    a: float = 0.12
    per_K: float = 1e-3
    b: float = 0.4

    def _a(self, temperature):
        return self.a - self.per_K * (temperature - 303.15)

    def water_activity(self, temperature, moisture_db):
        ratio = (moisture_db / self._a(temperature)) ** (1.0 / self.b)
        return ratio / (1.0 + ratio)

    def heat(self, temperature, activity):
        return 8.314462618 * temperature**2 * self.per_K / (self._a(temperature) * self.b) * (1.0 - activity)


class MeatsOwn:
    def water_activity(self, temperature, moisture_db):
        return water_activity(moisture_db, temperature, LEAN)


def test_the_inverse_gives_the_moisture_back():
    x, t = np.array([0.02, 0.1, 0.5, 3.0])[:, None], np.array([293.15, 333.15])
    curve = Curve(LEAN, Oswin())
    np.testing.assert_allclose(curve.moisture(curve.water_activity(x, t), t), x * np.ones(2), rtol=1e-8)


def test_slope_by_temperature_is_the_heat_of_clausius_and_clapeyron():
    x, t = np.array([[0.03, 0.1, 0.3]]), np.full((1, 3), 320.0)
    own, row = OwnSorption(Oswin()), np.zeros(3, dtype=int)
    activity = np.exp(own.log_activity(x, t, row))
    np.testing.assert_allclose(activity, Oswin().water_activity(t, x), rtol=1e-12)
    # the difference over a kelvin misses by its square: 1e-5
    heat = GAS_CONSTANT * t * t * own.slopes(x, t, row)[1]
    np.testing.assert_allclose(heat, Oswin().heat(t, activity), rtol=1e-4)


def test_meats_own_curve_as_a_law_is_the_table():
    x, t = np.geomspace(0.02, 3.0, 9)[None], np.full((1, 9), 330.0)
    row = np.zeros(9, dtype=int)
    own, table = OwnSorption(MeatsOwn()), SorptionTable([LEAN])
    np.testing.assert_allclose(
        own.log_activity(x, t, row), table.log_activity(x, t, row), rtol=1e-4, atol=1e-6
    )
    for found, expected in zip(own.slopes(x, t, row), table.slopes(x, t, row), strict=True):
        np.testing.assert_allclose(found, expected, rtol=2e-3, atol=1e-6)


def test_beyond_water_alone_a_law_is_water():
    class Beyond:
        def water_activity(self, temperature, moisture_db):
            return 2.0 * moisture_db + 0.0 * temperature

    own, state = OwnSorption(Beyond()), (np.array([4.0, -1.0]), np.full(2, 300.0), np.zeros(2, dtype=int))
    log_activity = own.log_activity(*state)
    assert log_activity[0] == 0.0
    assert np.isfinite(log_activity[1])
    assert np.all(own.slopes(*state)[1] == 0.0)
