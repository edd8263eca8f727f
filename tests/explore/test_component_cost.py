"""A law of a user's own costs the time it takes itself, and next to nothing beside."""

import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

import dryingsim as ds
from dryingsim.properties.shrinkage import LinearShrinkage

# of the time outside of the law, against that of the default: 1.00 to 1.1 were measured; the rest is for a busy machine
_MOST_TIMES_AS_LONG = 1.6
_MOST_CALLS = 6.0  # for each evaluation of the equations: two ends and a middle between nodes, two for a slope, the edges


class Clock:
    def __init__(self) -> None:
        self.seconds, self.calls = 0.0, 0

    def __hash__(self) -> int:
        return 0

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Clock)

    def timed(self, law: Callable, *state):
        start = time.process_time()
        value = law(*state)
        self.seconds += time.process_time() - start
        self.calls += 1
        return value


@dataclass(frozen=True)
class SlowDiffusivity:
    clock: Clock
    convention: str = "dry_mass"

    def value(self, temperature, moisture_db):
        return self.clock.timed(self._value, temperature, moisture_db)

    def _value(self, temperature, moisture_db):
        return sum(ds.LEAN_MEAT.value(temperature, moisture_db) for _ in range(20)) / 20.0


@dataclass(frozen=True)
class SlowSorption:
    clock: Clock

    def water_activity(self, temperature, moisture_db):
        return self.clock.timed(self._value, temperature, moisture_db)

    def _value(self, temperature, moisture_db):
        ratio = sum((moisture_db / 0.12) ** 2.5 for _ in range(20)) / 20.0 + 0.0 * temperature
        return ratio / (1.0 + ratio)


@dataclass(frozen=True)
class SlowShrinkage:
    clock: Clock

    def volume(self, moisture_db):
        law = LinearShrinkage(dry_m3_kg=7.6e-4, water_m3_kg=1.0 / 987.9)
        return self.clock.timed(lambda x: sum(law.volume(x) for _ in range(20)) / 20.0, moisture_db)


@pytest.fixture(scope="module")
def batch():
    demo = ds.demo_batch()
    (first,) = (demo.meat.classes[0],)
    stage = replace(demo.stages[demo.first_drying], until=None, duration_s=3600.0)
    return replace(
        demo,
        appliance=None,
        trays=None,
        rotate_every_s=None,
        stages=(stage,),
        meat=replace(demo.meat, classes=(replace(first, share=1.0),)),
    )


def outside(batch, law_of):
    """Processor time [s] outside of the law, the least of three runs; the last history and clock."""
    least = float("inf")
    for _ in range(3):
        clock = Clock()
        start = time.process_time()
        history = ds.run(batch, components=law_of(clock), nodes=12)
        least = min(least, time.process_time() - start - clock.seconds)
    return least, history, clock


@pytest.fixture(scope="module")
def default(batch):
    ds.run(batch, nodes=12)  # what is loaded and tabulated once
    return outside(batch, lambda clock: None)


@pytest.mark.parametrize(
    ("name", "law"),
    [("diffusivity", SlowDiffusivity), ("sorption", SlowSorption), ("shrinkage", SlowShrinkage)],
)
def test_a_slow_law_costs_only_its_own_time(batch, default, name, law):
    usual, plain, _ = default
    spent, history, clock = outside(batch, lambda clock: ds.Components(**{name: law(clock)}))
    assert clock.seconds > 0.0
    assert history.statistics.steps < 1.2 * plain.statistics.steps
    assert clock.calls < _MOST_CALLS * history.statistics.rhs_calls
    assert spent < _MOST_TIMES_AS_LONG * usual
