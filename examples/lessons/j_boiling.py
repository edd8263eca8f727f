"""Source of lesson J, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson J: Boiling: hot air, high places and the end of wet meat

**Aims.** After this lesson you can

- say why wet meat in an oven of 150 °C does not pass its boiling point, and what that is at your altitude and water activity;
- work out how fast water leaves when heat limits it;
- say what a hot finish does to meat that is dry already, and write the boiling point of meat.

You need the Clausius-Clapeyron equation. Time: one to two hours.

*A simulation validates no process. Measure the meat itself with a checked thermometer.*
"""

# %%
import numpy as np

import dryingsim as ds
from dryingsim.teaching import curves, lab_batch, lab_schedule, lines, open_lesson

check = open_lesson("j_boiling", globals())

# %% [markdown]
r"""
## 1. Predict first

A slice of 10 mm from the refrigerator goes into air of 150 °C. How hot is its core after 10 minutes, after 40, after two hours?
"""

# %% own
predicted_minutes, predicted_C = [10, 40, 120], [80, 120, 150]

# %%
roast = curves(ds.run(lab_batch(air="150 degC", duration="2 h", thickness="10 mm")))
guess = {"your prediction": (predicted_minutes, predicted_C)}
lines(
    roast.minutes,
    {"air": roast.air_C, "core": roast.core_C, "wet bulb": roast.wet_bulb_C},
    "time (min)",
    "temperature (°C)",
    points=guess,
)

# %%
lines(
    roast.minutes,
    {"moisture": roast.moisture_db, "equilibrated water activity": roast.activity},
    "time (min)",
    "kg/kg, -",
)

# %% [markdown] task 1, read
r"""
How hot is the core after 10, 40 and 60 minutes (to 3 K)?
"""

# %% start 1
core_C_read = [..., ..., ...]

# %% answer 1
core_C_read = [roast.at(roast.core_C, minutes=m) for m in (10, 40, 60)]

# %% check 1
near(
    core_C_read,
    [roast.at(roast.core_C, minutes=m) for m in (10, 40, 60)],
    3,
    "the line of the core; time is in minutes",
)

# %% [markdown] task 2, read
r"""
After how many minutes does the core pass 102 °C (to 5), and how much moisture is left then, in kg/kg (to 0.1)?
"""

# %% start 2
minutes_to_102, moisture_left = ..., ...

# %% answer 2
minutes_to_102 = roast.minutes_until(roast.core_C, 102)
moisture_left = roast.at(roast.moisture_db, minutes=minutes_to_102)

# %% check 2
passed = roast.minutes_until(roast.core_C, 102)
near(minutes_to_102, passed, 5, "a little above 100 °C the line bends; find where it passes 102")
near(moisture_left, roast.at(roast.moisture_db, minutes=passed), 0.1, "read the second picture at that time")

# %% [markdown] task 3, explain
r"""
The air is at 150 °C all the time. Why does the core stand near 100 °C for so long?

- a: as long as water boils away inside, the heat that arrives is spent on it; only when little water is left does the meat go on warming
- b: the thermostat switches off
- c: fat melts at that temperature
"""

# %% start 3
why_100 = ...

# %% answer 3
why_100 = "a"

# %% check 3
chosen(why_100, "a", "what happens to water whose vapour pressure reaches that of the air?")

# %% [markdown]
r"""
## 2. By hand: the boiling point

Water boils where its vapour pressure reaches the pressure of the air. With $L$ = 40 660 J/mol, $R$ = 8.314 J/(mol K), from 100 °C at $P_0$ = 101 325 Pa (Clausius and Clapeyron):

$$\frac{1}{T} = \frac{1}{373.15} - \frac{R}{L}\,\ln\frac{P}{a_w\,P_0}$$

Over meat the vapour pressure is lower by the factor $a_w$, so it boils later.
"""

# %% [markdown] task 4, reckon
r"""
At which temperature, in °C, does pure water boil at 3000 m, where $P$ = 70 110 Pa? And meat of water activity 0.75 at sea level?
"""

# %% start 4
water_3000_C, dry_meat_C = ..., ...

# %% answer 4
water_3000_C = 1 / (1 / 373.15 - 8.314 / 40660 * np.log(70110 / 101325)) - 273.15
dry_meat_C = 1 / (1 / 373.15 - 8.314 / 40660 * np.log(1 / 0.75)) - 273.15

# %% check 4
near(
    water_3000_C,
    1 / (1 / 373.15 - 8.314 / 40660 * np.log(70110 / 101325)) - 273.15,
    0.1,
    "lower pressure, lower boiling point; temperatures in K in the formula",
)
near(
    dry_meat_C,
    1 / (1 / 373.15 - 8.314 / 40660 * np.log(1 / 0.75)) - 273.15,
    0.1,
    "a_w stands below the fraction bar: it boils above 100 °C",
)

# %% [markdown] task 5, run
r"""
Run the roast for one hour at 3000 m (`altitude="3000 m"`). How hot is the core after 60 minutes, and by how many kelvin is that cooler than at sea level?
"""

# %% start 5
high_core_C, cooler_K = ..., ...

# %% answer 5
high = curves(ds.run(lab_batch(air="150 degC", duration="1 h", thickness="10 mm", altitude="3000 m")))
high_core_C = high.core_C[-1]
cooler_K = roast.at(roast.core_C, minutes=60) - high_core_C

# %% check 5
up = once(
    "up",
    lambda: curves(ds.run(lab_batch(air="150 degC", duration="1 h", thickness="10 mm", altitude="3000 m"))),
)
near(high_core_C, up.core_C[-1], 0.5, "the last value of `core_C`")
near(
    cooler_K,
    roast.at(roast.core_C, minutes=60) - up.core_C[-1],
    1,
    "the core at sea level after 60 minutes, less this one",
)

# %% [markdown]
r"""
## 3. By hand: heat limits

Near boiling, air can take up any amount of vapour: heat is what limits. The film that vapour has to pass follows a logarithm (Stefan),

$$N \propto \ln\frac{1 - y_{air}}{1 - y_s}$$

with $y$ the mole fraction of vapour in the air and at the surface.
"""

# %% [markdown] task 6, explain
r"""
What does that logarithm do as the surface comes near its boiling point?

- a: it goes to zero: nothing evaporates any more
- b: it grows without bound, so that no surface can stay wet and pass the boiling point: however much heat arrives, vapour carries it off
- c: it stays the same
"""

# %% start 6
near_boiling = ...

# %% answer 6
near_boiling = "b"

# %% check 6
chosen(near_boiling, "b", "what is the mole fraction of vapour at a boiling surface?")

# %% [markdown] task 7, reckon
r"""
A surface of 97 °C in air of 150 °C: convection with $h$ = 11 W/(m² K), and radiation $\varepsilon\sigma(T_{air}^4 - T_s^4)$ with $\varepsilon$ = 0.95 and $\sigma$ = 5.67e-8. If all of it
evaporates water ($\lambda$ = 2.27 MJ/kg): how many kg/(m² h) leave?
"""

# %% start 7
boiling_flux = ...

# %% answer 7
boiling_flux = (11 * 53 + 0.95 * 5.67e-8 * (423.15**4 - 370.15**4)) / 2.27e6 * 3600

# %% check 7
near(
    boiling_flux,
    (11 * 53 + 0.95 * 5.67e-8 * (423.15**4 - 370.15**4)) / 2.27e6 * 3600,
    0.03,
    "W/m2 over J/kg, times 3600; radiation with temperatures in K",
)

# %% [markdown] note 7
r"""
The model's flux at that time (`roast.flux_kg_m2_h`) is about a fifth lower: part of the heat still warms the slice, and the vapour that streams away keeps some of the air's
heat from the surface.
"""

# %% [markdown]
r"""
## 4. A hot finish on dry meat
"""

# %%
stages = [
    {"air": "68 degC", "speed": "1 m/s", "duration": "4 h"},
    {"air": "135 degC", "speed": "1 m/s", "duration": "10 min"},
]
finish = curves(ds.run(lab_schedule(stages)))
lines(finish.minutes[-60:], {"core": finish.core_C[-60:]}, "time (min)", "temperature (°C)")

# %% [markdown] task 8, read
r"""
How hot does the core get in the ten minutes at 135 °C (to 2 K)? What is the equilibrated water activity at the end (`finish.activity`)?
"""

# %% start 8
hottest_core_C, final_activity = ..., ...

# %% answer 8
hottest_core_C, final_activity = finish.core_C.max(), finish.activity[-1]

# %% check 8
near(hottest_core_C, finish.core_C.max(), 2, "the top of the line")
near(final_activity, finish.activity[-1], 0.01, "the last value")

# %% [markdown] task 9, explain
r"""
The core passes 100 °C in ten minutes, where the raw slice took far longer. What does that say about bacteria?

- a: 100 °C is 100 °C: it is as good as boiling
- b: dry meat has hardly any water to boil away, so it heats fast; but its bacteria are dry too, and stand heat far better. Heat it while it is wet
- c: the core is not where the heat is
"""

# %% start 9
hot_finish = ...

# %% answer 9
hot_finish = "b"

# %% check 9
chosen(hot_finish, "b", "think of lesson F: what does dryness do to D?")

# %% [markdown]
r"""
## 5. Write a model
"""

# %% [markdown] task 10, write
r"""
Write the boiling point of meat in °C, of the pressure in Pa and the water activity. It is tried from 60 to 101 kPa and from 0.6 to 1, against the package's vapour pressure, to 0.7 K.
"""


# %% start 10
def my_boiling_point(pressure_Pa, activity):
    return ...


# %% answer 10
def my_boiling_point(pressure_Pa, activity):
    return 1 / (1 / 373.124 - 8.314 / 40660 * np.log(pressure_Pa / activity / 101325)) - 273.15


# %% check 10
from scipy.optimize import brentq

from dryingsim.properties.water import saturation_pressure

for pressure in (60e3, 80e3, 101325.0):
    for a in (0.6, 0.8, 1.0):
        exact = (
            brentq(lambda kelvin, p=pressure, w=a: w * float(saturation_pressure(kelvin)) - p, 330, 420)
            - 273.15
        )
        near(
            my_boiling_point(pressure, a),
            exact,
            0.7,
            f"at {pressure / 1000:.0f} kPa and {a} it is off by more than 0.7 K",
        )
holds(my_boiling_point(101325.0, 0.7) > my_boiling_point(101325.0, 0.9), "drier meat boils later")

# %% [markdown]
r"""
## 6. Where the model fails, and your own data

Vapour is taken to find its way out at once; crusts that hold it, and juice that is driven out, are left out. Boil water with your thermometer in it: `dryingsim measure boiling --help` says
what it should read at your altitude.
"""

# %% own
own_altitude_m, own_reading_C = 0.0, 100.0

# %%
from dryingsim.properties.atmosphere import standard_pressure

print(
    f"the air of {own_altitude_m:.0f} m has {standard_pressure(own_altitude_m) / 1000:.1f} kPa; you read {own_reading_C} °C"
)

# %% [markdown]
r"""
**Sources.** Clausius-Clapeyron and the Stefan film: any text on heat and mass transfer (Bird, Stewart & Lightfoot; Incropera & DeWitt). The boiling of the model, its equations and estimates:
`validation/theory.md`.
"""
