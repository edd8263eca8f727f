"""Source of lesson A, see README.md."""

from dryingsim.teaching.checks import chosen, near, once

# %% [markdown]
r"""
# Lesson A: Why the meat is not as hot as the air

**Aims.** After this lesson you can

- say which temperature wet meat takes in warm dry air, and work it out by hand;
- tell what convection, radiation and evaporation each do to it;
- say why the humidity that counts is the wet bulb, and why the thermostat says little about the meat.

You need the balance of heat at a wet surface. Time: one to two hours.

*A simulation validates no process. Measure the meat itself with a checked thermometer.*
"""

# %%
import numpy as np
from scipy.optimize import brentq

import dryingsim as ds
from dryingsim.teaching import curves, lab_batch, lines, open_lesson

check = open_lesson("a_meat_and_air", globals())

# %% [markdown]
r"""
## 1. Predict first

Slices of eye of round, 5 mm thick, come from the refrigerator (4 °C) and go into air of 68 °C that moves at 1 m/s. It is the air of a
room (21 °C, 45 % relative humidity), only heated. Before you run anything, write down how hot the surface is after 15 minutes, after one
hour, after four hours. Put your numbers here; they are drawn into the picture.
"""

# %% own
predicted_minutes = [15, 60, 240]
predicted_C = [60, 66, 68]  # a common guess: put yours here

# %% [markdown]
r"""
## 2. What the model says
"""

# %%
meat = curves(ds.run(lab_batch()))
temperatures = {"air": meat.air_C, "surface": meat.surface_C, "wet bulb": meat.wet_bulb_C}
guess = {"your prediction": (predicted_minutes, predicted_C)}
lines(meat.minutes, temperatures, "time (min)", "temperature (°C)", points=guess)

# %%
lines(meat.minutes, {"surface": meat.surface_activity}, "time (min)", "water activity of the surface")

# %% [markdown] task 1, read
r"""
From the first picture: how hot is the surface after 15, 60 and 240 minutes, in °C? (To 4 K.)
"""

# %% start 1
surface_C_read = [..., ..., ...]

# %% answer 1
surface_C_read = [30, 46, 65]

# %% check 1
near(
    surface_C_read,
    [meat.at(meat.surface_C, minutes=m) for m in (15, 60, 240)],
    4,
    "read the line 'surface', not that of the air; the time axis is in minutes",
)

# %% [markdown] note 1
r"""
The usual wrong prediction is that the meat is within a few kelvin of the air after a quarter of an hour. A slice in an *oil* bath would be.
"""

# %% [markdown] task 2, read
r"""
Heat begins to count against bacteria at about 55 °C. After how many minutes does the surface reach that (to 15 minutes), and what is its
water activity then (to 0.05)?
"""

# %% start 2
minutes_to_55, activity_at_55 = ..., ...

# %% answer 2
minutes_to_55 = meat.minutes_until(meat.surface_C, 55)
activity_at_55 = meat.at(meat.surface_activity, minutes=minutes_to_55)

# %% check 2
reached = meat.minutes_until(meat.surface_C, 55)
near(minutes_to_55, reached, 15, "follow the surface's line to 55 °C, and read the time below it")
near(
    activity_at_55,
    meat.at(meat.surface_activity, minutes=reached),
    0.05,
    "the time is right; read the second picture there",
)

# %% [markdown] note 2
r"""
The surface is hot only when it is dry, and dry bacteria stand heat far better (lesson F). A rule such as "dry at 68 °C for four hours"
names the air's temperature and says nothing about the meat.
"""

# %% [markdown]
r"""
## 3. By hand: the wet bulb

A wet surface that exchanges heat and vapour with the air alone comes to rest where the heat that the air brings pays for the water that
evaporates. With the humidity ratio $w$ of the air, and $w_s$ of air that is saturated at the surface's temperature,

$$c_p\,(T_{air} - T_{wb}) = \lambda\,(w_s(T_{wb}) - w)$$

Vapour pressure of water in Pa, $t$ in °C: $p_s = 610.8\,\exp(17.27\,t/(t + 237.3))$ (Tetens 1930; constants from memory). Humidity
ratio: $w = 0.622\,p/(P - p)$. Take $P$ = 101 325 Pa, $c_p$ = 1006 J/(kg K) and $\lambda$ = 2.43 MJ/kg.
"""


# %%
def saturation(celsius):
    return 610.8 * np.exp(17.27 * celsius / (celsius + 237.3))


vapour = 0.45 * saturation(21.0)  # Pa: heating the air of the room leaves its vapour as it is

# %% [markdown] task 3, reckon
r"""
What is the relative humidity of the room's air once it is heated to 68 °C, in per cent?
"""

# %% start 3
warm_humidity_percent = ...

# %% answer 3
warm_humidity_percent = 100 * vapour / saturation(68.0)

# %% check 3
near(
    warm_humidity_percent,
    100 * vapour / saturation(68.0),
    0.2,
    "the vapour stays, saturation rises: divide one by the other",
)

# %% [markdown] task 4, reckon
r"""
Find the wet bulb of that air, in °C: the temperature at which the balance above closes. (`brentq(f, 0, 68)` finds where a function `f` is
zero; trying by hand is as good.)
"""

# %% start 4
wet_bulb_C = ...


# %% answer 4
def ratio(pressure):
    return 0.622 * pressure / (101325 - pressure)


wet_bulb_C = brentq(lambda t: 1006 * (68 - t) - 2.43e6 * (ratio(saturation(t)) - ratio(vapour)), 0, 68)

# %% check 4
near(
    wet_bulb_C,
    meat.wet_bulb_C[0],
    0.4,
    "the balance does not close there; are both humidity ratios those of the same pressure P?",
)

# %% [markdown] note 4
r"""
The package finds the same within 0.3 K, with better formulas for vapour pressure and latent heat.
"""

# %% [markdown]
r"""
## 4. By hand: add radiation

A slice also sees warm walls and trays, which send it heat that no film passes on. Now the heat-transfer coefficient counts. For air along a
plate $h = 0.664\,Re^{1/2}\,Pr^{1/3}\,k/\ell$ (Incropera, ch. 7), here with a kinematic viscosity of 1.8e-5 m²/s, $Pr$ = 0.71, $k$ =
0.027 W/(m K). The vapour's film follows from the analogy of Chilton and Colburn:

$$h\,(T_{air} - T) + \varepsilon\sigma\,(T_{air}^4 - T^4) = \lambda\,\frac{0.622\,h}{c_p\,Le^{2/3}}\,\ln\frac{1 - p_{air}/P}{1 - p_s(T)/P}$$
"""

# %% [markdown] task 5, reckon
r"""
The slices are 0.12 m long along the flow, the air moves at 1 m/s. What is $h$, in W/(m² K)?
"""

# %% start 5
film_W_m2K = ...

# %% answer 5
film_W_m2K = 0.664 * np.sqrt(1.0 * 0.12 / 1.8e-5) * 0.71 ** (1 / 3) * 0.027 / 0.12

# %% check 5
near(
    film_W_m2K,
    0.664 * np.sqrt(0.12 / 1.8e-5) * 0.71 ** (1 / 3) * 0.027 / 0.12,
    0.15,
    "Re = speed times length over viscosity; mind the root and the length in the last factor",
)

# %% [markdown] task 6, reckon
r"""
How hot is a freely wet surface then, in °C? Take $\varepsilon$ = 0.95, $\sigma$ = 5.67e-8 W/(m² K⁴), $Le$ = 0.85, temperatures in K
where they stand to the fourth power. How much of it is owed to radiation: what would it be without?
"""

# %% start 6
wet_surface_C, without_radiation_C = ..., ...


# %% answer 6
def surplus(t, emissivity):
    radiated = emissivity * 5.67e-8 * (341.15**4 - (t + 273.15) ** 4)
    drive = np.log((1 - vapour / 101325) / (1 - saturation(t) / 101325))
    return 10.88 * (68 - t) + radiated - 2.43e6 * 0.622 * 10.88 / (1006 * 0.85 ** (2 / 3)) * drive


wet_surface_C, without_radiation_C = brentq(surplus, 0, 67, args=(0.95,)), brentq(surplus, 0, 67, args=(0.0,))

# %% check 6
soaked_law = ds.Diffusivity(
    reference_m2_s=5.4e-8,
    temperature_K=333.15,
    moisture_db=1.0,
    activation_energy_J_mol=32e3,
    half_moisture_db=0.34,
    convention="dry_mass",
)
soaked = once("soaked", lambda: curves(ds.run(lab_batch(duration="35 min"), diffusivity=soaked_law)))
near(
    wet_surface_C,
    soaked.at(soaked.surface_C, minutes=30),
    0.8,
    "without radiation it is the wet bulb, with it some kelvin more",
)
near(
    without_radiation_C,
    meat.wet_bulb_C[0],
    1.0,
    "set the emissivity to zero: what is left is nearly the wet bulb",
)

# %% [markdown] note 6
r"""
The check asks the model for "meat" through which water moves a hundred times more easily, so that its surface stays wet: no food, but it
shows where the calculation by hand holds. Real meat passes that temperature after a quarter of an hour, because its surface begins to dry.
"""

# %% [markdown]
r"""
## 5. Which humidity counts?
"""

# %% [markdown] task 7, run
r"""
Run the same batch for 35 minutes with a room at 10 % and at 80 % relative humidity (`lab_batch(duration="35 min", room_humidity="10 %")`),
and then with air held at a wet bulb of 50 °C (`wet_bulb="50 degC"`). How hot is the surface after 30 minutes each time?
"""

# %% start 7
dry_room_C, humid_room_C, held_C = ..., ..., ...


# %% answer 7
def after_half_an_hour(**changes):
    run = curves(ds.run(lab_batch(duration="35 min", **changes)))
    return run.at(run.surface_C, minutes=30)


dry_room_C = after_half_an_hour(room_humidity="10 %")
humid_room_C = after_half_an_hour(room_humidity="80 %")
held_C = after_half_an_hour(wet_bulb="50 degC")

# %% check 7
changes = {"room_humidity": "10 %"}, {"room_humidity": "80 %"}, {"wet_bulb": "50 degC"}
short = once("short", lambda: [curves(ds.run(lab_batch(duration="35 min", **change))) for change in changes])
for value, change, run in zip((dry_room_C, humid_room_C, held_C), changes, short, strict=True):
    near(
        value,
        run.at(run.surface_C, minutes=30),
        0.5,
        f"with {change} it is another; read `surface_C` at 30 minutes",
    )

# %% [markdown] task 8, explain
r"""
Three very different rooms give nearly the same surface after half an hour; a held wet bulb changes everything. Why?

- a: the air of a room holds no water to speak of, so its humidity never matters
- b: in room air at 68 °C the surface has dried by then, and diffusion inside decides; in humid air it stays wet, near the wet bulb
- c: radiation outweighs evaporation in both
"""

# %% start 8
reason = ...

# %% answer 8
reason = "b"

# %% check 8
chosen(
    reason, "b", "look at the water activity of the surface after 30 minutes, in room air and in humid air"
)

# %% [markdown] task 9, explain
r"""
Published schedules that reduced *Salmonella* by more than 6 log held a *wet bulb* of 52 to 60 °C for 10 to 60 minutes **at the beginning**
(Buege, Searls & Ingham 2006). Why at the beginning?

- a: later the thermostat is too slow
- b: bacteria grow less on cold meat
- c: only while the surface is wet does the wet bulb set its temperature, and only wet bacteria die quickly at it
"""

# %% start 9
why_first = ...

# %% answer 9
why_first = "c"

# %% check 9
chosen(
    why_first,
    "c",
    "what is the surface like after an hour in dry air, and what does a wet bulb mean for a dry surface?",
)

# %% [markdown]
r"""
## 6. Write a model
"""

# %% [markdown] task 10, write
r"""
Write the wet bulb as a function of the air's temperature and its relative humidity (a fraction). It is tried from 20 to 90 °C and from 5 to
95 %, against the package, to 0.7 K.
"""


# %% start 10
def my_wet_bulb(air_C, humidity):
    return ...


# %% answer 10
def my_wet_bulb(air_C, humidity):
    own = ratio(humidity * saturation(air_C))
    return brentq(
        lambda t: 1006 * (air_C - t) - (2.50e6 - 2360 * t) * (ratio(saturation(t)) - own), -20, air_C
    )


# %% check 10
from dryingsim.properties.moist_air import wet_bulb
from dryingsim.properties.water import saturation_pressure

for air in (20.0, 55.0, 90.0):
    for humidity in (0.05, 0.4, 0.95):
        kelvin = air + 273.15
        exact = float(wet_bulb(kelvin, humidity * float(saturation_pressure(kelvin)), 101325.0)) - 273.15
        near(
            my_wet_bulb(air, humidity),
            exact,
            0.7,
            f"at {air:.0f} °C and {100 * humidity:.0f} % it is off by more than 0.7 K",
        )

# %% [markdown] note 10
r"""
Here the latent heat falls with temperature, 2.50 MJ/kg less 2.36 kJ/kg for each degree. One value for all, 2.43 MJ/kg, will do too: it is off by 0.3 K at the most.
"""

# %% [markdown]
r"""
## 7. Where the model fails

*Given air* means that everything a slice sees is as hot as the air. On the trays of an appliance it sees other slices as cold as itself,
and the air cools on its way (lesson D). Fat and juice that drip, the flow around a single slice, and a thermometer's own heat leak along its
stem (a probe in a 5 mm slice reads too high) are left out.

## 8. Your own data

Put a thin probe into the middle of the thickest slice; read it, and the air beside it.
"""

# %% own
own_minutes, own_C = [], []

# %%
lines(
    meat.minutes,
    {"core": meat.core_C},
    "time (min)",
    "temperature (°C)",
    points={"measured": (own_minutes, own_C)},
)

# %% [markdown]
r"""
**Sources.** Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, ch. 6-7 (films; analogy). ASHRAE Fundamentals (2009), ch. 1
(psychrometrics). Tetens (1930). Buege, Searls & Ingham (2006), J. Food Prot. 69:2091 (abstract). Every number of the model with its source:
`validation/theory.md`.
"""
