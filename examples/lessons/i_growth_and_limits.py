"""Source of lesson I, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson I: Growth, and critical limits that can be measured

**Aims.** After this lesson you can

- work out how much bacteria grow while meat stands warm and wet, with a lag and without;
- say where on whole and on ground meat that counts, and why drying too cool is worse than drying too hot;
- turn a computed process into critical limits that someone can read off an instrument, with its error;
- write a growth model.

You need exponential growth. Time: two hours.

*A simulation validates no process. Your own limits are set with your food-safety authority; to sell, have a process authority review them.*
"""

# %%
import numpy as np
from scipy.integrate import trapezoid

import dryingsim as ds
from dryingsim.judge.growth import growth_rate
from dryingsim.teaching import curves, lab_batch, lab_schedule, lines, open_lesson

check = open_lesson("i_growth_and_limits", globals())

# %% [markdown]
r"""
## 1. Predict first

Ground strips 10 mm thick lie in a slow dryer: air of 45 °C from a humid room, hardly moving. For how many hours is their core warm and wet enough for bacteria to grow?
By how many powers of ten could *Staphylococcus aureus*, whose toxin no cooking destroys, increase in that time?
"""

# %% own
predicted_hours, predicted_log = 2.0, 1.0

# %%
celsius = np.linspace(5, 50, 181)
names = {"S. aureus": "staphylococcus", "Salmonella": "salmonella", "L. monocytogenes": "listeria"}
rates = {name: 3600 * growth_rate(key, celsius + 273.15, 0.99) for name, key in names.items()}
lines(celsius, rates, "temperature (°C)", "growth rate, ln per hour, in wet meat")

# %%
strips = {"thickness": "10 mm", "room_humidity": "70 %", "form": "minced"}
history = ds.run(lab_batch(air="45 degC", speed="0.3 m/s", duration="20 h", **strips))
meat, middle = curves(history), history.slabs.nodes.size // 2
core_K, core_activity = history.temperature_K[:, middle, 0], history.water_activity[:, middle, 0]
course = {"air": meat.air_C, "core": core_K - 273.15, "100 × water activity": 100 * core_activity}
lines(meat.hours, course, "time (h)", "°C; per cent")

# %% [markdown] task 1, read
r"""
At which temperature does *S. aureus* grow fastest, at which *Salmonella* (to 2 K)? And at which does *S. aureus* stop growing?
"""

# %% start 1
fastest_aureus_C, fastest_salmonella_C, stops_C = ..., ..., ...

# %% answer 1
fastest_aureus_C, fastest_salmonella_C, stops_C = 40.6, 41.9, 46.7

# %% check 1
near(
    [fastest_aureus_C, fastest_salmonella_C],
    [celsius[rates["S. aureus"].argmax()], celsius[rates["Salmonella"].argmax()]],
    2,
    "the top of each line",
)
near(
    stops_C,
    celsius[(rates["S. aureus"] > 0).nonzero()[0][-1]],
    2,
    "where its line comes down to zero on the warm side",
)

# %% [markdown]
r"""
## 2. By hand

While nothing limits them, numbers grow as $N = N_0\,e^{\mu t}$. `growth_rate(organism, T, a_w)` gives $\mu$ in 1/s, of kelvin and water activity.
"""

# %% [markdown] task 2, reckon
r"""
How many minutes does *S. aureus* take to double at 37 °C in wet meat (0.99)?
"""

# %% start 2
doubling_minutes = ...

# %% answer 2
doubling_minutes = np.log(2) / growth_rate("staphylococcus", 310.15, 0.99) / 60

# %% check 2
near(
    doubling_minutes,
    float(np.log(2) / growth_rate("staphylococcus", 310.15, 0.99) / 60),
    0.3,
    "ln 2 over the rate; the rate is per second",
)

# %% [markdown] task 3, reckon
r"""
By how many powers of ten does it grow in 6 h at 25 °C without a lag, $\mu t/\ln 10$? And with a lag, for cells that have to do a work $h_0$ = 2 first:
$\log_{10}(1 + (e^{\mu t} - 1)\,e^{-h_0})$?
"""

# %% start 3
without_lag, with_lag = ..., ...

# %% answer 3
growth = float(growth_rate("staphylococcus", 298.15, 0.99)) * 6 * 3600
without_lag, with_lag = growth / np.log(10), np.log10(1 + (np.exp(growth) - 1) * np.exp(-2))

# %% check 3
exponent = float(growth_rate("staphylococcus", 298.15, 0.99)) * 6 * 3600
near(without_lag, exponent / np.log(10), 0.03, "mu times 21 600 s, over ln 10")
near(
    with_lag, np.log10(1 + (np.exp(exponent) - 1) * np.exp(-2)), 0.03, "put mu t into the formula, then log10"
)

# %% [markdown] note 3
r"""
The upper figure, without a lag, decides: cells on meat may have been growing already.
"""

# %% [markdown]
r"""
## 3. The slow dryer
"""

# %% [markdown] task 4, read
r"""
For how many hours does the core stand between 10 and 54.4 °C (50 to 130 °F) with a water activity above 0.95 (to 0.5 h)? A guideline allows 6 h (FSIS-GD-2021-14, p. 23).
"""

# %% start 4
warm_wet_hours = ...

# %% answer 4
warm_wet_hours = np.ptp(meat.hours[(core_K > 283.15) & (core_K < 327.55) & (core_activity > 0.95)])

# %% check 4
standing = meat.hours[(core_K > 283.15) & (core_K < 327.55) & (core_activity > 0.95)]
near(
    warm_wet_hours,
    np.ptp(standing),
    0.5,
    "from when the core passes 10 °C until the line of 100 times the water activity falls below 95",
)

# %% [markdown] task 5, run
r"""
Integrate `growth_rate("staphylococcus", core_K, core_activity)` over the time (`trapezoid(rate, history.time_s)`): how many powers of ten in the core? And at the lower surface, node 0?
"""

# %% start 5
core_log, surface_log = ..., ...

# %% answer 5
everywhere = growth_rate("staphylococcus", history.temperature_K[..., 0], history.water_activity[..., 0])
grown = trapezoid(everywhere, history.time_s, axis=0) / np.log(10)
core_log, surface_log = grown[middle], grown[0]

# %% check 5
field = growth_rate("staphylococcus", history.temperature_K[..., 0], history.water_activity[..., 0])
logs = trapezoid(field, history.time_s, axis=0) / np.log(10)
near(core_log, logs[middle], 0.3, "integrate over seconds, then over ln 10")
near(
    surface_log, logs[0], 0.1, "the same with node 0 of `history.temperature_K` and `history.water_activity`"
)

# %% [markdown] task 6, explain
r"""
At most 2 log of *S. aureus* are tolerated. The core passes that by far, the surface does not. For which meat does the core count?

- a: for neither: bacteria need air
- b: for ground or mechanically tenderized meat, where bacteria sit at every depth; the inside of whole muscle is nearly free of them
- c: for whole muscle only
"""

# %% start 6
where_it_counts = ...

# %% answer 6
where_it_counts = "b"

# %% check 6
chosen(where_it_counts, "b", "where do the bacteria of the surface go when meat is ground?")

# %% [markdown] task 7, run
r"""
Run the same strips in air of 68 °C at 1 m/s: `lab_batch(duration="10 h", **strips)`. How many powers of ten in the core now?
"""

# %% start 7
core_log_hot = ...

# %% answer 7
hot = ds.run(lab_batch(duration="10 h", **strips))
rate = growth_rate("staphylococcus", hot.temperature_K[:, middle, 0], hot.water_activity[:, middle, 0])
core_log_hot = trapezoid(rate, hot.time_s) / np.log(10)

# %% check 7
fast = once("fast", lambda: ds.run(lab_batch(duration="10 h", **strips)))
own_rate = growth_rate("staphylococcus", fast.temperature_K[:, middle, 0], fast.water_activity[:, middle, 0])
near(
    core_log_hot,
    trapezoid(own_rate, fast.time_s) / np.log(10),
    0.2,
    "air, speed, thickness, room and form as stated; then as in task 5",
)

# %% [markdown]
r"""
## 4. Critical limits

A limit has to be something that a person can measure, at a place, with an instrument whose error is known, and it has to be met on the *unfavourable* side of that error.
"""

# %% [markdown] task 8, reckon
r"""
The process needs a core of 71.1 °C (160 °F). Your probe may read up to 0.6 K too high. Which limit goes on the batch sheet, in °C? And for a wet bulb of 54 °C with a wick that may read
0.5 K too high?
"""

# %% start 8
core_limit_C, wet_bulb_limit_C = ..., ...

# %% answer 8
core_limit_C, wet_bulb_limit_C = 71.1 + 0.6, 54 + 0.5

# %% check 8
near(
    core_limit_C,
    71.7,
    0.05,
    "an instrument that reads too high hides cold meat: the reading must be higher, not lower",
)
near(wet_bulb_limit_C, 54.5, 0.05, "the same way round")

# %% [markdown]
r"""
A humid first hour, planned with a wet bulb of 63 °C. The verdict is not "met", because nobody has measured that humidity; it says what to measure (in K and s):
"""

# %%
stages = [
    {"air": "70 degC", "speed": "1 m/s", "humidity": {"wet_bulb": "63 degC"}, "duration": "1 h"},
    {"air": "68 degC", "speed": "1 m/s", "duration": "5 h"},
]
verdict = ds.judge_batch_lethality(ds.run(lab_schedule(stages)))
verdict.grade, [dict(finding.values) for finding in verdict.warnings if finding.key == "humidity_decides"]

# %% [markdown] task 9, read
r"""
From that line: which wet bulb must be read at the slices, in °C, and for how many minutes? Is the computed verdict "met" without any measurement (True or False)?
"""

# %% start 9
needed_wet_bulb_C, needed_minutes, met_unmeasured = ..., ..., ...

# %% answer 9
needed = next(finding.values for finding in verdict.warnings if finding.key == "humidity_decides")
needed_wet_bulb_C, needed_minutes = needed["wet_bulb_K"] - 273.15, (needed["end_s"] - needed["begin_s"]) / 60
met_unmeasured = False

# %% check 9
asked = next(finding.values for finding in verdict.warnings if finding.key == "humidity_decides")
near(needed_wet_bulb_C, asked["wet_bulb_K"] - 273.15, 0.3, "wet_bulb_K, less 273.15")
near(needed_minutes, (asked["end_s"] - asked["begin_s"]) / 60, 1, "end_s less begin_s, in minutes")
holds(met_unmeasured is False, "read the grade in front of that line")

# %% [markdown] note 9
r"""
`dryingsim record BATCH.toml LOG.csv --limits mine.toml` writes a record of a batch against limits, those of the guideline unless a file of your own is given.
"""

# %% [markdown] task 10, explain
r"""
The come-up took 8 h instead of 6 h. What helps?

- a: cook it longer and hotter: that destroys what has grown
- b: freeze it: that stops growth
- c: cooking again is not enough, as a toxin may be there: model *S. aureus* for that batch or test for its toxins, keep the batch back, and find the cause
"""

# %% start 10
what_helps = ...

# %% answer 10
what_helps = "c"

# %% check 10
chosen(what_helps, "c", "what is left of S. aureus once it has grown and been destroyed?")

# %% [markdown]
r"""
## 5. Write a model
"""

# %% [markdown] task 11, write
r"""
Write the cardinal factor of temperature: 0 at and beyond $T_{min}$ and $T_{max}$, 1 at $T_{opt}$, and between

$$\gamma = \frac{(T - T_{max})\,(T - T_{min})^2}{(T_{opt} - T_{min})\,((T_{opt} - T_{min})(T - T_{opt}) - (T_{opt} - T_{max})(T_{opt} + T_{min} - 2T))}$$

It must take arrays. The check sets it beside the package's.
"""


# %% start 11
def my_cardinal(t, low, best, high):
    return ...


# %% answer 11
def my_cardinal(t, low, best, high):
    inside = np.clip(t, low, high)
    below = (best - low) * ((best - low) * (inside - best) - (best - high) * (best + low - 2 * inside))
    return (inside - high) * (inside - low) ** 2 / below


# %% check 11
from dryingsim.judge.growth import cardinal

near(
    my_cardinal(np.array([7.7, 40.6, 46.7]), 7.7, 40.6, 46.7),
    [0, 1, 0],
    1e-9,
    "0 at both ends, 1 at the best",
)
near(
    my_cardinal(np.linspace(0, 50, 26), 7.7, 40.6, 46.7),
    cardinal(np.linspace(0, 50, 26), 7.7, 40.6, 46.7),
    1e-9,
    "right at the three points; 0 beyond the ends?",
)

# %% [markdown]
r"""
## 6. Where the model fails, and your own data

*S. aureus* was measured in broth, without rivals; what cure, acid or other flora hold back is not counted, and nothing limits numbers. Read your own dryer: the core of the thickest
strip, every ten minutes.
"""

# %% own
own_hours, own_core_C = [], []

# %%
lines(
    meat.hours,
    {"core": core_K - 273.15},
    "time (h)",
    "temperature (°C)",
    points={"measured": (own_hours, own_core_C)},
)

# %% [markdown]
r"""
**Sources.** Growth models, each with its status: `dryingsim/batch/catalog/growth_models.toml` and `validation/theory.md`; *S. aureus*: Medvedova et al. 2019. Rosso et al. (cardinal values;
second hand). USDA FSIS cooking guideline, FSIS-GD-2021-14 (come-up, instruments, deviations).
"""
