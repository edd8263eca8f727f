"""What a run says to the person who dries the batch: every judgement of its history, each worked out once."""

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from dryingsim.batch.money import Amount, MeatPrice
from dryingsim.batch.schema import ThicknessClass
from dryingsim.history import History
from dryingsim.judge.done_window import Course, Window, at_time, course_of, dry_in, first_time_down_to
from dryingsim.judge.doneness import HOUR_S, Answers, Doneness, Heating, judge_batch
from dryingsim.judge.energy import Energy, Price, judge_energy
from dryingsim.judge.grades import Lethality
from dryingsim.judge.looking import look_times, ready_shares
from dryingsim.judge.serving import Serving, serving_of
from dryingsim.judge.stop_weight import Stop, stop_of
from dryingsim.judge.taking_off import held_moisture, held_weight, leaving_times
from dryingsim.judge.texture import (
    HALF_HOUR_S,
    HalfHourMore,
    TextureWindow,
    TextureWindows,
    half_hour_more,
    texture_window,
)
from dryingsim.judge.trays import TrayAir, Trays, judge_trays, tray_air
from dryingsim.judge.verdict import judge_batch_lethality, judge_taken_out
from dryingsim.judge.yield_and_cost import Yield, judge_yield
from dryingsim.kitchen.loads import Loads
from dryingsim.kitchen.marinade import Marinated, marinated_batch


@dataclass(frozen=True, slots=True, kw_only=True)
class Prices:
    """What was paid, where it was said.

    Attributes
    ----------
    energy : Price or None
    meat : MeatPrice or None
    ingredients : Amount or None
    """

    energy: Price | None = None
    meat: MeatPrice | None = None
    ingredients: Amount | None = None


LookKey = Literal[
    "first hour", "first look", "look again", "done", "next stage", "stop", "half an hour more", "end"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """A time to look at the batch, what for, and what it should then weigh.

    Attributes
    ----------
    time_s : float
        Since the start, as computed [s]; may lie beyond the end of the run.
    weight_kg : float
        Of the whole batch, slices taken off before among it [kg].
    ready : float or None
        Share of the slices, by what they weigh dry, that are likely ready to be taken off by then [-]: no two slices are
        alike, nor two kitchens. None where the weight tells, whatever the time.
    key : LookKey
    ready_range : tuple of float or None
        Nine times in ten that share is between the two [-].
    """

    time_s: float
    weight_kg: float
    ready: float | None
    key: LookKey
    ready_range: tuple[float, float] | None


@dataclass(frozen=True, slots=True, kw_only=True)
class SlicesReady:
    """When the slices of one thickness are ready, and what one of them then weighs.

    Attributes
    ----------
    slices : ThicknessClass
    ready : Window
        The wettest of them over all trays.
    ready_s : float or None
        As computed on the tray that is wettest at the end [s].
    soonest_s : float or None
        The driest of them, where trays differ [s].
    stop_share : float or None
        Of the weight loaded, at which the wettest are surely dry [-].
    texture : TextureWindow
    """

    slices: ThicknessClass
    ready: Window
    ready_s: float | None
    soonest_s: float | None
    stop_share: float | None
    texture: TextureWindow


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayReady:
    """When the slices of a tray are ready, and what they then weigh.

    Attributes
    ----------
    ready_s : float or None
        All of them, as computed [s].
    stop : Stop
        The weight at which they are surely dry.
    texture : TextureWindow
    """

    ready_s: float | None
    stop: Stop
    texture: TextureWindow


class Answer:
    """Every judgement of a history, each worked out when it is first asked for and never again.

    Parameters
    ----------
    history : History
        As `dryingsim.run` returns it.
    prices : Prices, optional
        For the cost of the energy and of the dried meat.
    loads : Loads, optional
        What the history is one load of, as `dryingsim.kitchen.loads.loads_of` gives it; all there is if left out.

    Examples
    --------
    >>> import dryingsim as ds
    >>> answer = ds.Answer(ds.run(ds.demo_batch()))
    >>> answer.lethality is answer.lethality, answer.lethality.grade == "met"
    (True, True)
    """

    def __init__(self, history: History, prices: Prices | None = None, loads: Loads | None = None) -> None:
        self.history = history
        self.loads = loads or Loads(history.batch, 1, history.batch)
        self.batch = history.batch
        self.prices = prices or Prices()

    @cached_property
    def judged(self) -> Answers:
        """When the batch is done, and how hot it got."""
        return judge_batch(self.history)

    @property
    def doneness(self) -> Doneness:
        """When the slices are dry, and how to tell by weighing."""
        return self.judged.doneness

    @property
    def heating(self) -> Heating:
        """How hot the coldest spot of the meat was."""
        return self.judged.heating

    @cached_property
    def lethality(self) -> Lethality:
        """Log reductions of the whole plan, of each slice until it is taken off."""
        return judge_batch_lethality(self.history)

    @cached_property
    def taken_out(self) -> tuple[float, Lethality] | None:
        """When the meat is done [s] and what it is worth if taken out then; None where the plan is about over by then."""
        return judge_taken_out(self.history)

    @cached_property
    def trays(self) -> Trays | None:
        """How the trays are loaded and when each is done; None in given air."""
        return judge_trays(self.history)

    @cached_property
    def tray_air(self) -> TrayAir | None:
        """The air at each tray; None in given air."""
        return tray_air(self.history)

    @cached_property
    def energy(self) -> Energy | None:
        """What the appliance takes; None in given air."""
        return judge_energy(self.history, self.judged, self.prices.energy)

    @cached_property
    def product(self) -> Yield:
        """What the batch yields and costs."""
        paid = self.prices
        return judge_yield(
            self.history, self.judged, paid.meat, paid.ingredients, paid.energy, self.loads.count
        )

    @cached_property
    def serving(self) -> Serving:
        """What a serving of the finished product holds."""
        return serving_of(self.batch.meat.composition, self.batch.seasoning, self.product.share)

    @cached_property
    def marinated(self) -> Marinated | None:
        """What the batch's own ingredients come to; None without them."""
        return marinated_batch(self.batch)

    @cached_property
    def texture(self) -> TextureWindows:
        """From when to when slices bend without breaking."""
        return texture_window(self.history)

    @cached_property
    def half_hour_more(self) -> HalfHourMore:
        """What half an hour more does, from when the batch is done or the run ends."""
        done = self.doneness.batch.expected_s
        return half_hour_more(self.history, self.end_s if done is None else done)

    @property
    def end_s(self) -> float:
        """When the run ends [s]."""
        return float(self.history.time_s[-1])

    @cached_property
    def last_off_s(self) -> float:
        """When the last slices are taken off, at the end of the run at the latest [s]."""
        return float(leaving_times(self.history).max())

    @property
    def load_s(self) -> float:
        """How long a load takes until its last slices are likely off; to the end of the run where that is not known [s]."""
        return self.doneness.all_off_s or self.end_s

    @property
    def loaded_kg(self) -> float:
        """Weight of the marinated meat before anything is done to it; water that it is heated in then takes its salt [kg]."""
        return self.batch.laid_on_kg

    def loaded_of(self, slabs: np.ndarray) -> float:
        """Return the same of some slabs [kg].

        Parameters
        ----------
        slabs : ndarray of bool, shape (m,)
        """
        first = self.history.weight_kg[0]
        return self.loaded_kg * float(first[slabs].sum() / first.sum())

    def weight_at(self, time_s: float) -> float:
        """Return the weight of the whole batch at a time, slices taken off among it [kg].

        Parameters
        ----------
        time_s : float
            Since the start [s]; beyond the run slices go on as `done_window` follows them.
        """
        if time_s <= self.end_s:
            return float(np.interp(time_s, self.history.time_s, held_weight(self.history)))
        planned = self._planned_course
        left_in = np.minimum(
            self.history.mean_moisture_db[-1], at_time(time_s, planned.time_s, planned.moisture_db)
        )
        return float(self.history.dry_mass_kg @ (1.0 + held_moisture(self.batch, left_in)))

    @cached_property
    def looks(self) -> tuple[Look, ...]:
        """When to look at the batch, in order."""
        done = self.doneness
        looks: dict[LookKey, float] = {"end": self.end_s}
        if self.end_s > 1.2 * HOUR_S:
            looks["first hour"] = HOUR_S
        if done.first_look_s is not None:
            looks["first look"] = done.first_look_s
        if done.batch.expected_s is not None:
            looks["done"] = done.batch.expected_s
            next_s = self.next_stage_s
            if next_s is not None:
                looks["next stage"] = next_s
            if next_s is None or next_s >= done.batch.expected_s + HALF_HOUR_S:
                looks["half an hour more"] = done.batch.expected_s + HALF_HOUR_S
        found = self._timed_looks([*looks], [*looks.values()])
        if done.stop is not None and done.stop.weight_kg is not None and done.stop.likely_s is not None:
            weight = done.stop.weight_kg
            found.append(
                Look(time_s=done.stop.likely_s, weight_kg=weight, ready=None, key="stop", ready_range=None)
            )
        return tuple(sorted(found, key=lambda look: look.time_s))

    @cached_property
    def next_stage_s(self) -> float | None:
        """When the stage begins that follows the one in which all are dry, such as a hot finish; None where none does [s]."""
        stage = dry_in(self.history, self._target)
        if stage is None or stage + 1 >= self.history.stage_end_s.size:
            return None
        return float(self.history.stage_end_s[stage])

    @cached_property
    def regular_looks(self) -> tuple[Look, ...]:
        """First look, then again and again until all are ready as computed; none where a weight never tells that."""
        done = self.doneness
        if done.first_look_s is None or done.stop is None or done.stop.likely_s is None:
            return ()  # in this air none gets so dry that a weight could tell
        times = look_times(done.first_look_s, self.texture.look_again_s, done.stop.likely_s)
        if self.next_stage_s is not None:  # nobody looks in the middle of a hot finish
            first, *later = times
            times = [first, *(time for time in later if not self.next_stage_s < time < self.end_s)]
        again: list[LookKey] = ["look again"] * (len(times) - 1)
        return tuple(self._timed_looks(["first look", *again], times))

    def _timed_looks(self, keys: list[LookKey], times_s: list[float]) -> list[Look]:
        return [
            Look(
                time_s=share.time_s,
                weight_kg=self.weight_at(share.time_s),
                ready=share.likely,
                key=key,
                ready_range=(share.low, share.high),
            )
            for key, share in zip(keys, ready_shares(self.history, self._course, times_s), strict=True)
        ]

    @cached_property
    def by_thickness(self) -> tuple[SlicesReady, ...]:
        """Each thickness by itself, in the order of the batch."""
        rows = zip(self.batch.meat.classes, self.doneness.classes, self.texture.classes, strict=True)
        return tuple(
            self._slices(number, one, window, texture) for number, (one, window, texture) in enumerate(rows)
        )

    def _slices(
        self, number: int, slices: ThicknessClass, window: Window, texture: TextureWindow
    ) -> SlicesReady:
        history = self.history
        slabs = np.flatnonzero(history.kind == number)
        last = history.mean_moisture_db[-1, slabs]
        wettest, driest = slabs[int(last.argmax())], slabs[int(last.argmin())]
        ready, soonest = (
            first_time_down_to(history.time_s, history.equalised_water_activity[:, slab], self._target)
            for slab in (wettest, driest)
        )
        alone = np.arange(history.kind.size) == wettest
        stop = stop_of(history, self._planned_course, self._target, alone)
        return SlicesReady(
            slices=slices,
            ready=window,
            ready_s=ready,
            soonest_s=soonest if driest != wettest else None,
            stop_share=None if stop.weight_kg is None else stop.weight_kg / self.loaded_of(alone),
            texture=texture,
        )

    @property
    def _target(self) -> float:
        return self.batch.targets.water_activity

    @cached_property
    def _course(self) -> Course:
        return course_of(self.history, self._target)

    @cached_property
    def _planned_course(self) -> Course:
        return course_of(self.history, self._target, as_planned=True)

    @cached_property
    def by_tray(self) -> tuple[TrayReady, ...]:
        """Each tray by itself; all slices as one in given air."""
        history = self.history
        activity = history.equalised_water_activity
        found = []
        for tray, texture in enumerate(self.texture.trays):
            here = history.tray == tray
            ready = first_time_down_to(history.time_s, activity[:, here].max(axis=1), self._target)
            stop = stop_of(history, self._planned_course, self._target, here)
            found.append(TrayReady(ready_s=ready, stop=stop, texture=texture))
        return tuple(found)
