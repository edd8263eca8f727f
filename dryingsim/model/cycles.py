"""Steps in an appliance whose thermostat switches: a few over every half-cycle, long ones once cycles are even.

To follow every switching takes some nine steps a half-cycle. So once cycles repeat themselves, a step takes the mean
state over many of them, as with a heater that is on for its share of the time, and the swing about it, which is linear
(`kernels.swing`), is followed through every switching: the thermostat feels the sum of both, and that is recorded.
Where a step ends, the sum is taken apart anew, by the cycle it ended in. Sums of water and energy stay what they are.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.kernels.rosenbrock import Step, Stepper, System, first_crossing
from dryingsim.kernels.swing import TIMES, Cycle, Swing
from dryingsim.model.loaded import LoadedAppliance

AFTER_SWITCH_S: Annotated[
    float, Evidence("s", "numerical", "first step after a switching; air warms within it")
] = 1.0
SWITCHING_WITHIN_S: Annotated[float, Evidence("s", "numerical", "how well a switching is located")] = 0.01
ALIKE: Annotated[
    float,
    Evidence(
        "-", "numerical", "by what share times on, and times off, may differ in two cycles that are even"
    ),
] = 0.3
OVERDUE: Annotated[
    float, Evidence("-", "numerical", "a switching so many times later than the last one ends even cycles")
] = 2.0
PRODUCTS: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "products of swings above this, in errors that a step may make, are not left out. Those of shipped appliances with a fan "
        "stay below 3.3; an oven shut has 4 to 30, one without a fan 20 to 100, and errs by 0.1 K",
    ),
] = 4.0
LONGEST_S: Annotated[
    float,
    Evidence("s", "numerical", "longest step of the mean: a third of it comes to the same within 0.002 K"),
] = 600.0


@dataclass(frozen=True, slots=True)
class Swings:
    """A swing as it was followed over a step of the mean.

    Attributes
    ----------
    swing : Swing
    times : ndarray, shape (k,)
        Where it was looked at [s].
    numbers : ndarray, shape (k, numbers)
        Its numbers there.
    """

    swing: Swing
    times: np.ndarray
    numbers: np.ndarray

    def at(self, t: float | np.ndarray) -> np.ndarray:
        """Swing at times within the step: shape (size,), or (k, size) for k times."""
        i = np.clip(np.searchsorted(self.times, t, side="right"), 1, self.times.size - 1)
        before, after = self.times[i - 1], self.times[i]
        s = np.clip((t - before) / np.maximum(after - before, 1e-9), 0.0, 1.0)
        numbers = self.numbers[i - 1] + s[..., None] * (self.numbers[i] - self.numbers[i - 1])
        return np.asarray(numbers @ self.swing.states.T)


@dataclass(slots=True)
class CyclesStep(Step):
    """A step of the mean, with the swing about it; what is interpolated is the sum.

    Attributes
    ----------
    mean : Step
    swings : Swings
    on : bool
        Whether the heater is on where it begins.
    products : ndarray or None
        What the swing adds to the mean's right-hand side.
    switched_s : list of float
        When it was switched before [s].
    """

    mean: Step
    swings: Swings
    on: bool
    products: np.ndarray | None
    switched_s: list[float]

    def at(self, t: float | np.ndarray) -> np.ndarray:
        """State at times within t0..t1: shape (size,) or (k, size) for k times."""
        return self.mean.at(t) + self.swings.at(t)


class CyclingStepper(Stepper):
    """Advances a loaded appliance whose thermostat switches.

    Parameters
    ----------
    loaded : LoadedAppliance
    system : System
        It, or what the slices are in outside of it.
    y : ndarray
        State at the beginning.
    """

    def __init__(self, loaded: LoadedAppliance, system: System, y: np.ndarray) -> None:
        self._loaded, self._chamber = loaded, loaded.chamber
        self._sensor_row = int(self._sensor(np.arange(y.size)))
        self._on = True
        self._products: np.ndarray | None = None  # what a swing adds to the mean's right-hand side
        super().__init__(system, 0.0, y)

    def restart(self, first_step: float | None = None) -> None:
        """Forget the slope and the cycles: call after changing the state or the problem (a new stage)."""
        self._switched_s: list[float] = []
        self._mean: np.ndarray | None = None
        super().restart(first_step)

    def _rhs(self, t: float, y: np.ndarray) -> np.ndarray:
        rhs = super()._rhs(t, y)
        return rhs if self._products is None else rhs + self._products

    def step(self, t_end: float) -> Step:
        """Take one accepted step, not beyond `t_end` nor, while cycles are uneven, the next switching."""
        if self.system is not self._loaded:  # the slices are out of it
            return super().step(t_end)
        cycle = self._even_cycle()
        if cycle is not None:
            return self._leap(t_end, cycle)
        if self._mean is not None:  # cycles have become uneven
            self.restart(AFTER_SWITCH_S)
        return self._follow(t_end)

    def shorten(self, step: Step, t1: float) -> Step:
        """Take the last accepted step again, only as far as `t1`."""
        if isinstance(step, CyclesStep):
            return self._shorten_cycles(step, t1)
        self._set_share(float(self._on))
        return super().shorten(step, t1)

    # --- every switching ---------------------------------------------------------------------------------------
    def _follow(self, t_end: float) -> Step:
        """Take a step, to the next switching if that comes first, and switch."""
        on = self._on = bool(self._chamber.heater_share)
        step = super().step(t_end)
        if self._past(self._sensor(step.y1), on) > 0.0:
            crossed = first_crossing(
                lambda t: float(self._past(self._sensor(step.at(t)), on)),
                step.t0,
                step.t1,
                SWITCHING_WITHIN_S,
            )
            step = super().shorten(step, crossed)
            self._switched_s.append(crossed)
            self._set_share(float(not on))
            super().restart(AFTER_SWITCH_S)
        return step

    def _past(self, sensor_K: np.ndarray, on: bool) -> np.ndarray:
        """How far the sensor is past the temperature at which the thermostat next switches [K]."""
        over = sensor_K - self._chamber.setting.temperature_K
        return (over if on else -over) - 0.5 * self._chamber.appliance.heater.band_K

    def _sensor(self, y: np.ndarray) -> np.ndarray:
        return self._chamber.sensor_K(self._loaded.parts(y)[1])

    def _set_share(self, share: float) -> None:
        self._chamber.heater_share = share

    # --- even cycles -------------------------------------------------------------------------------------------
    def _even_cycle(self) -> Cycle | None:
        """The last cycle, if the one before it was alike and the next switching is not overdue."""
        on, ago = bool(self._chamber.heater_share), np.diff(self._switched_s[-5:])
        if ago.size < 4 or np.any(np.abs(ago[2:] - ago[:2]) > ALIKE * ago[2:]):
            return None
        if self.t - self._switched_s[-1] > OVERDUE * ago[-2]:
            return None
        return Cycle(ago[-2], ago[-1]) if on else Cycle(ago[-1], ago[-2])

    def _leap(self, t_end: float, cycle: Cycle) -> Step:
        """Take a step of the mean of even cycles, the swing followed through it."""
        on, y, loaded = bool(self._chamber.heater_share), self.y, self._loaded
        self._set_share(cycle.duty)
        about = y if self._mean is None else self._mean
        swing = Swing(loaded, self.t, about, loaded.heating(y), loaded.weights(about), cycle)
        numbers = swing.at(on, self.t - self._switched_s[-1])
        mean = y - swing.states @ numbers
        products = swing.products(loaded, self.t, mean)
        average = products.mean(axis=0)
        if max(loaded.error_norm(loaded.solve(p - average), mean) for p in products) > PRODUCTS:
            self._set_share(float(on))
            self.restart(AFTER_SWITCH_S)
            return self._follow(t_end)
        self._products, self.y = average, mean
        super().restart(AFTER_SWITCH_S if self._mean is None else self.h)
        step = super().step(min(t_end, self.t + LONGEST_S))
        return self._with_swing(step, swing, numbers, on, y)

    def _shorten_cycles(self, step: CyclesStep, t1: float) -> Step:
        """Take a step of the mean again, and follow the swing again."""
        swing, numbers = step.swings.swing, step.swings.numbers[0]
        self._set_share(swing.cycle.duty)
        self._products, self._switched_s = step.products, step.switched_s
        return self._with_swing(super().shorten(step.mean, t1), swing, numbers, step.on, step.y0)

    def _with_swing(self, mean: Step, swing: Swing, numbers: np.ndarray, on: bool, y: np.ndarray) -> Step:
        """Add the swing to a step of the mean; the stepper then stands at the end of both."""
        products, switched_s = self._products, self._switched_s[-5:]
        swings, still_on = self._followed(mean, swing, numbers, on)
        y1 = mean.y1 + swing.states @ swings.numbers[-1]
        self._mean, self._products, self.y = mean.y1, None, y1
        self._set_share(float(still_on))
        return CyclesStep(
            mean.t0, mean.t1, y, y1, mean.f0, mean.slope, mean, swings, on, products, switched_s
        )

    def _followed(self, mean: Step, swing: Swing, q: np.ndarray, on: bool) -> tuple[Swings, bool]:
        """The swing through every switching of a step of the mean, and whether the heater is on at its end."""
        felt, t = self._felt(mean), mean.t0
        times, numbers = [np.array([t])], [q[None]]
        while t < mean.t1:
            grid, course = t + swing.step_s * np.arange(TIMES + 1), swing.course(q, on)
            past = self._past(felt.at(grid)[:, 0] + course @ swing.states[self._sensor_row], on)
            ahead = past[1:] > 0.0
            j = int(np.argmax(ahead)) + 1 if ahead.any() else TIMES
            share = 1.0
            if ahead.any():  # from the time before, unless it was past already there
                share = max(-past[j - 1], 0.0) / (past[j] - min(past[j - 1], 0.0))
            end = grid[j - 1] + share * swing.step_s
            if end >= mean.t1:
                j = min(int((mean.t1 - t) / swing.step_s) + 1, TIMES)
                share, end = (mean.t1 - grid[j - 1]) / swing.step_s, mean.t1
            q = course[j - 1] + share * (course[j] - course[j - 1])
            times += [grid[1:j], np.array([end])]
            numbers += [course[1:j], q[None]]
            t = end
            if t < mean.t1 and ahead.any():
                self._switched_s.append(t)
                on = not on
        return Swings(swing, np.concatenate(times), np.concatenate(numbers)), on

    def _felt(self, mean: Step) -> Step:
        """A step of the mean, the thermostat's sensor alone."""
        row = slice(self._sensor_row, self._sensor_row + 1)
        states = (part[row] for part in (mean.y0, mean.y1, mean.f0, mean.slope))
        return Step(mean.t0, mean.t1, *states)
