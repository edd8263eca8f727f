"""Published drying runs of meat through the simulator, by one rule.

**The rule for all that a paper leaves open** is the starting file of the package (`dryingsim new`): eye of round,
5 mm thick, 120 mm along the air and 50 mm wide, both faces open, 4 degC at the start, air of a room of 21 degC and
45 % only warmed, 1 m/s. Formed meat is minced beef 95/5 (or the paper's animal, minced). Where meat is marinated,
seasoned, cured or salted it holds the starting file's 15 g salt and 12 g sugar per kg, otherwise none. Where the end
is only called done, best or dry, it is the starting file's water activity of 0.85. A temperature measured in an
appliance is that of the air at the slices. A range is represented by its middle, of times the geometric one.

**One measure for all of them:** the time the model takes to the published state over the published time, in
doublings, log2(t_model / t_published). The last stage simply goes on where the model is slower.

Left out: microwave, infrared, vacuum and frying; humectants other than sugar; the weight-time tray tests of unnamed
foodstuffs (Geankoplis 9.6 problem, Anantharaman & Begum 6.5), for which neither air, depth nor material is stated, so
that there is nothing to predict; whole pieces thicker than 30 mm.
"""

from dataclasses import dataclass, replace
from functools import cache

import numpy as np

from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.batch.schema import Air, Batch, Form, Humidity, Marinade, Stage, ThicknessClass
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity
from dryingsim.simulate import run
from validation.data import SHARED
from validation.setups import drying_demo

HOUR = 3600.0
START = replace(drying_demo(), name="the rule")
SPEED = START.stages[START.first_drying].air.speed_m_s
THICKNESS_MM = 5.0  # the middle one of the starting file
ROOM_AIR = Humidity(kind="room")
GOES_ON = 6.0  # a run goes on in its last stage to this many times its published length
NODES = {False: 12, True: 24}


def relative(value: float) -> Humidity:
    return Humidity(kind="relative", value=value)


def stage(
    celsius: float,
    hours: float,
    humidity: Humidity = ROOM_AIR,
    speed: float = SPEED,
    end_humidity: Humidity | None = None,
) -> Stage:
    def air(moist: Humidity) -> Air:
        return Air(temperature_K=celsius + ZERO_CELSIUS, humidity=moist, speed_m_s=speed)

    return Stage(
        name=f"{celsius:g} degC",
        air=air(humidity),
        air_end=air(end_humidity) if end_humidity else None,
        duration_s=hours * HOUR,
    )


@dataclass(frozen=True)
class Setup:
    """What a paper states; all else is the rule's."""

    stages: tuple[Stage, ...]
    thickness_mm: float = THICKNESS_MM
    cut: str = "beef eye of round"
    form: Form = "sliced"
    marinated: bool = False
    water: float = 0.0  # injected or mixed in, per kg of raw meat
    room_humidity: float | None = None
    file: str = ""  # an example of the package, already by the rule

    @property
    def batch(self) -> Batch:
        """The batch; its last stage goes on."""
        batch = load_batch(SHARED.parent / "examples" / self.file) if self.file else self._by_rule()
        total = sum(s.duration_s or 0.0 for s in batch.stages)
        last = batch.stages[-1]
        air = last.air_end or last.air
        more = Stage(name="goes on", air=air, duration_s=GOES_ON * total)
        return replace(batch, stages=(*batch.stages, more))

    def _by_rule(self) -> Batch:
        meat = replace(
            START.meat,
            name=self.cut,
            composition=all_cuts()[self.cut].composition,
            form=self.form,
            classes=(ThicknessClass(thickness_m=1e-3 * self.thickness_mm, share=1.0),),
        )
        marinade = START.marinade if self.marinated else Marinade()
        room = START.room
        if self.room_humidity is not None:
            room = replace(room, relative_humidity=self.room_humidity)
        return replace(
            START,
            name="published run",
            meat=meat,
            marinade=replace(marinade, water_kg_kg=self.water),
            room=room,
            stages=self.stages,
        )


HOLLEY = (stage(52.9, 4.0), stage(48.2, 4.0))
SETUPS = {
    "chamber strips": Setup((), file="climate_chamber.toml"),
    "hen": Setup((stage(85, 2), stage(60, 1)), cut="chicken breast", form="minced", marinated=True),
    **{
        f"injected {share}": Setup((stage(85, hours),), marinated=True, water=share / (100.0 - share))
        for share, hours in ((0, 4.67), (10, 4.0), (20, 3.5), (30, 3.0))
    },
    "flank": Setup(HOLLEY, thickness_mm=6.4, cut="beef flank"),
    "round": Setup(HOLLEY, thickness_mm=6.4, cut="beef top round", marinated=True),
    "corned": Setup(HOLLEY, thickness_mm=6.4, cut="beef brisket flat", marinated=True),
    "smokehouse": Setup((stage(80.7, 3.0, relative(0.631), end_humidity=relative(0.209)),), marinated=True),
    "formed": Setup(
        (stage(55.6, 44 / 60), stage(77.8, 5.0 - 44 / 60)),
        cut="minced beef 95/5",
        form="minced",
        marinated=True,
    ),
    "dried inlet 62.5": Setup((stage(62.5, 8),), marinated=True, room_humidity=0.175),
    "dried inlet 71": Setup((stage(71, 6),), marinated=True, room_humidity=0.175),
    "cold room": Setup((stage(10, 144, relative(0.65)),), cut="beef top round"),
    "pork optimum": Setup((stage(67.5, 7.5),), cut="pork loin", marinated=True),
    "pork 80": Setup((stage(80, 3.5),), cut="pork loin", marinated=True),
    "pork rising": Setup((stage(55, 1), stage(65, 1), stage(72, 1.5)), cut="pork loin", marinated=True),
    "pork falling": Setup((stage(72, 1.5), stage(65, 1), stage(55, 1)), cut="pork loin", marinated=True),
    "staged": Setup((stage(40, 1), stage(50, 1), stage(60, 2)), marinated=True),
    "oven beef": Setup((stage(75, 12.5),)),
    "oven chicken": Setup((stage(75, 13),), cut="chicken breast"),
    "trade": Setup((stage(68.33, 8),), marinated=True),
    "salted cuts": Setup((stage(40, 40, relative(0.3)),), marinated=True),
    "hung steak": Setup((stage(19.5, 28, relative(0.3)),), thickness_mm=20.0, marinated=True),
    **{f"chicken {t}": Setup((stage(t, h),), cut="chicken breast") for t, h in ((50, 12), (60, 10), (70, 8))},
}


@cache
def simulated(setup: Setup, full: bool, diffusivity: Diffusivity = LEAN_MEAT) -> History:
    """Simulate a setup, recorded at some 1500 times."""
    batch = setup.batch
    length = sum(s.duration_s or 0.0 for s in batch.stages)
    return run(
        batch, nodes=NODES[full], interval_s=min(max(length / 1500.0, 15.0), 600.0), diffusivity=diffusivity
    )


def course(history: History, quantity: str) -> np.ndarray:
    """How a measured quantity falls over the recorded times (its name as in the table of experiments)."""
    if quantity == "loss":
        return -100.0 * history.weight_loss
    if quantity == "yield":
        return 100.0 * (1.0 - history.weight_loss)
    if quantity == "mpr":
        return history.moisture_protein_ratio
    if quantity == "aw":
        return history.equalised_water_activity[:, 0]
    x = history.batch_moisture_db
    return x / x[0] if quantity == "mr" else 100.0 * x / (1.0 + x)


def hours_to(history: History, quantity: str, value: float) -> float:
    """Hours until a quantity has fallen to a value (a loss has risen to it); infinite if it never does."""
    falling = course(history, quantity)
    level = -value if quantity == "loss" else value
    below = np.flatnonzero(falling <= level)
    if not below.size:
        return np.inf
    i = int(below[0])
    if i == 0:
        return 0.0
    share = (falling[i - 1] - level) / (falling[i - 1] - falling[i])
    t = history.time_s
    return float(t[i - 1] + share * (t[i] - t[i - 1])) / HOUR
