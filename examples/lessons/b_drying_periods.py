"""Source of lesson B, see README.md."""

from dryingsim.teaching.checks import chosen, near, once

# %% [markdown]
r"""
# Lesson B: Drying periods, and a slab by hand

**Aims.** After this lesson you can

- draw a drying rate over the moisture, name its periods, and say why meat hardly has the first;
- dry a slab by hand with the diffusion series, and make the model agree with it;
- find the trap in a published diffusivity, and write a diffusivity law of your own.

You need the Fourier number and a series. Time: two hours.

*A simulation validates no process. Dryness says nothing about bacteria.*
"""

# %%
import numpy as np

import dryingsim as ds
from dryingsim.teaching import curves, diffusivity_law, lab_batch, lines, open_lesson, ready_hours

check = open_lesson("b_drying_periods", globals())

# %% [markdown]
r"""
## 1. Predict first

A slice of 5 mm, both surfaces in air of 68 °C at 1 m/s. Textbooks show a *constant-rate period*: as long as the surface is wet, the rate does
not change. How long will it last here, and which share of the highest rate is left when half of the water is gone?
"""

# %% own
predicted_constant_minutes, predicted_share_at_half = 60, 0.8

# %% [markdown]
r"""
## 2. The rate over the moisture
"""

# %%
batch = lab_batch(duration="10 h")
meat = curves(ds.run(batch, nodes=40))
axes = lines(
    meat.moisture_db[::-1],
    {"": meat.flux_kg_m2_h[::-1]},
    "moisture (kg/kg dry solid)",
    "drying rate (kg/m² h)",
)
for minutes in (10, 20, 60, 120, 240):
    place = meat.at(meat.moisture_db, minutes=minutes), meat.at(meat.flux_kg_m2_h, minutes=minutes)
    axes.annotate(f"{minutes} min", place, (4, 4), textcoords="offset points")

# %% [markdown] task 1, read
r"""
What is the highest rate, in kg/(m² h) (to 0.05), and what is the moisture then, in kg/kg (to 0.15)? Drying goes from right to left.
"""

# %% start 1
highest_rate, moisture_at_highest = ..., ...

# %% answer 1
highest_rate = meat.flux_kg_m2_h.max()
moisture_at_highest = meat.moisture_db[meat.flux_kg_m2_h.argmax()]

# %% check 1
near(highest_rate, meat.flux_kg_m2_h.max(), 0.05, "take the top of the curve")
near(
    moisture_at_highest,
    meat.moisture_db[meat.flux_kg_m2_h.argmax()],
    0.15,
    "read the moisture below the top of the curve",
)

# %% [markdown] task 2, read
r"""
For how many minutes does the rate stay within 5 % of the highest (to 3 minutes)? Read it, or count the recorded times in `meat.minutes`.
"""

# %% start 2
constant_minutes = ...

# %% answer 2
near_top = meat.minutes[meat.flux_kg_m2_h > 0.95 * meat.flux_kg_m2_h.max()]
constant_minutes = np.ptp(near_top)

# %% check 2
top = meat.minutes[meat.flux_kg_m2_h > 0.95 * meat.flux_kg_m2_h.max()]
near(
    constant_minutes,
    np.ptp(top),
    3,
    "compare `meat.flux_kg_m2_h` with 0.95 times its `max()`, and take the times between which it is above",
)

# %% [markdown] note 2
r"""
Minutes, not an hour. The shoulder soon after the top is no period of drying: at a water activity of 0.75 the salt at the surface crystallises,
and while it does, the surface stays at that water activity. `lab_batch(salt="0 g/kg")` has no shoulder.
"""

# %% [markdown] task 3, read
r"""
Which share of the highest rate is left when half of the water is gone (to 0.05)?
"""

# %% start 3
share_at_half = ...

# %% answer 3
half_gone = meat.minutes_until(meat.moisture_db, meat.moisture_db[0] / 2)
share_at_half = meat.at(meat.flux_kg_m2_h, minutes=half_gone) / meat.flux_kg_m2_h.max()

# %% check 3
half = meat.at(meat.flux_kg_m2_h, minutes=meat.minutes_until(meat.moisture_db, meat.moisture_db[0] / 2))
near(
    share_at_half,
    half / meat.flux_kg_m2_h.max(),
    0.05,
    "half of the water: half of the moisture at the right end of the curve",
)

# %% [markdown]
r"""
## 3. By hand: how long can the surface stay wet?

While the rate $N$ is constant, the surface of a thick body loses moisture as if a constant flux were drawn from it (Carslaw & Jaeger, section
2.9; Crank, section 3.3). The time until it has lost $\Delta X$ is

$$t = \pi D\,\left(\frac{\rho_d\,\Delta X}{2 N}\right)^2$$
"""

# %% [markdown] task 4, reckon
r"""
Take $D$ = 2.0e-10 m²/s (meat of 32 °C), $\rho_d$ = 311 kg dry solid per m³ of raw meat, $\Delta X$ = 2.1 kg/kg (down to a water activity of
about 0.85) and $N$ = 1.05 kg/(m² h), which you have to bring to kg/(m² s). How many minutes?
"""

# %% start 4
wet_surface_minutes = ...

# %% answer 4
wet_surface_minutes = np.pi * 2.0e-10 * (311 * 2.1 / (2 * 1.05 / 3600)) ** 2 / 60

# %% check 4
by_hand = np.pi * 2.0e-10 * (311 * 2.1 / (2 * 1.05 / 3600)) ** 2 / 60
near(
    wet_surface_minutes,
    by_hand,
    0.5,
    "an hour has 3600 s; everything in the bracket is squared; the answer is in minutes",
)

# %% [markdown] note 4
r"""
The model's surface passes a water activity of 0.85 at about the same time. Water reaches the surface far more slowly than air could take it
away. Wet sand, clay or paper keep a constant rate far longer.
"""

# %% [markdown]
r"""
## 4. By hand: the slab series

If the surface sat at its final moisture from the beginning and $D$ were constant, the mean moisture would follow (Crank, eq. 4.18)

$$\frac{\bar X - X_e}{X_0 - X_e} = \frac{8}{\pi^2}\,\sum_{n=0}^{\infty}\frac{1}{(2n+1)^2}\,\exp(-(2n+1)^2\,\pi^2\,Fo/4),\quad Fo = \frac{D\,t}{L^2}$$

with $L$ half the thickness. Take the thickness as laid on the tray: the trap of section 6 says why.
"""

# %% [markdown] task 5, reckon
r"""
With the first term alone: after how many hours is the ratio down to 0.14, for 5 mm and $D$ = 5.4e-10 m²/s?
"""

# %% start 5
one_term_hours = ...

# %% answer 5
one_term_hours = np.log(8 / (np.pi**2 * 0.14)) * 4 / np.pi**2 * 2.5e-3**2 / 5.4e-10 / 3600

# %% check 5
near(
    one_term_hours,
    np.log(8 / (np.pi**2 * 0.14)) * 4 / np.pi**2 * 2.5e-3**2 / 5.4e-10 / 3600,
    0.03,
    "solve for Fo first; L is half of 5 mm",
)

# %% [markdown] task 6, run
r"""
Now make the model solve the same problem: surfaces held at 0.1 kg/kg (`ds.Components(surface=ds.HeldSurface(0.1), diffusivity=...)`) and a
constant diffusivity, `diffusivity_law(lambda T, X: 5.4e-10)`. What is the ratio $(\bar X - 0.1)/(X_0 - 0.1)$ after one hour?
"""

# %% start 6
ratio_after_an_hour = ...

# %% answer 6
textbook = ds.Components(surface=ds.HeldSurface(0.1), diffusivity=diffusivity_law(lambda T, X: 5.4e-10))
slab = curves(ds.run(lab_batch(duration="1 h"), components=textbook))
ratio_after_an_hour = (slab.moisture_db[-1] - 0.1) / (slab.moisture_db[0] - 0.1)

# %% check 6
odd = 2 * np.arange(50) + 1
series = 8 / np.pi**2 * np.sum(np.exp(-((odd * np.pi / 2) ** 2) * 5.4e-10 * 3600 / 2.5e-3**2) / odd**2)
near(
    ratio_after_an_hour,
    series,
    0.002,
    "the series gives another value; is the stage one hour, and the law constant?",
)

# %% [markdown] note 6
r"""
The check is the series itself with 50 terms: model and series agree to better than 3e-4, at any time.
"""

# %% [markdown]
r"""
## 5. What a laboratory would publish

Many papers draw $\ln(X/X_0)$ over time, take the slope and publish $D_{eff} = -\mathrm{slope}\cdot 4 L^2/\pi^2$.
"""

# %%
ratio = meat.moisture_db / meat.moisture_db[0]
series = 8 / np.pi**2 * np.exp(-(np.pi**2) / 4 * 5.4e-10 * 3600 * meat.hours / 2.5e-3**2)
lines(meat.hours, {"model": ratio, "first term": series}, "time (h)", "moisture ratio", logarithmic="y")

# %% [markdown] task 7, run
r"""
Publish it: which $D_{eff}$ in m²/s would you find from the model's own curve between the ratios 0.5 and 0.2? (`np.polyfit(t, np.log(r), 1)[0]`
is the slope; time in seconds.)
"""

# %% start 7
effective_m2_s = ...

# %% answer 7
part = (ratio < 0.5) & (ratio > 0.2)
effective_m2_s = -np.polyfit(meat.history.time_s[part], np.log(ratio[part]), 1)[0] * 4 * 2.5e-3**2 / np.pi**2

# %% check 7
piece = (meat.moisture_db < 0.5 * meat.moisture_db[0]) & (meat.moisture_db > 0.2 * meat.moisture_db[0])
slope = np.polyfit(meat.history.time_s[piece], np.log(meat.moisture_db[piece]), 1)[0]
published = -slope * 4 * 2.5e-3**2 / np.pi**2
near(
    effective_m2_s,
    published,
    0.05 * published,
    "choose the times by a mask on `ratio`; seconds; L is half the thickness, in m",
)

# %% [markdown] task 8, explain
r"""
Nothing in the model is as low at 60 °C, where its $D$ is 5.4e-10 m²/s. What went into the "measurement" besides diffusion?

- a: the slice was below 60 °C most of the time, the film at the surface is a resistance too, and $D$ falls with moisture
- b: the error of the balance
- c: shrinkage, which the slope takes into account twice
"""

# %% start 8
besides_diffusion = ...

# %% answer 8
besides_diffusion = "a"

# %% check 8
chosen(
    besides_diffusion,
    "a",
    "think of lesson A: how hot is the slice in the first hours? And what does the series take for granted?",
)

# %% [markdown] note 8
r"""
A fitted $D_{eff}$ belongs to its own experiment; that is one reason why laboratories differ (lesson K).
"""

# %% [markdown]
r"""
## 6. The trap: which thickness?

A published diffusivity was worked out *as if the slice had not shrunk*. In a model that lets it shrink, such a number belongs to the dry mass:
water moves from grain to grain of dry solid, and the grains do not become fewer. The package uses $D\,\rho_{d0}^2$. Who puts the number into a
shrinking slab as a *local* diffusivity counts the shrinking twice.
"""

# %% [markdown] task 9, run
r"""
How many times too fast is a slice ready (water activity 0.85, equilibrated) if you fall into the trap? `ready_hours(history)` is an array of
hours, one for each thickness: here `[0]` is the only one. Use
`dataclasses.replace(ds.LEAN_MEAT, convention="local")` as the diffusivity.
"""

# %% start 9
times_too_fast = ...

# %% answer 9
from dataclasses import replace

trapped = ds.run(batch, diffusivity=replace(ds.LEAN_MEAT, convention="local"))
times_too_fast = ready_hours(meat.history)[0] / ready_hours(trapped)[0]

# %% check 9
import dataclasses

trap = dataclasses.replace(ds.LEAN_MEAT, convention="local")
local = once("local", lambda: ready_hours(ds.run(batch, diffusivity=trap))[0])
near(
    times_too_fast,
    ready_hours(meat.history)[0] / local,
    0.08,
    "divide the right time by that of the trap; it is above 1",
)

# %% [markdown]
r"""
## 7. Write a model
"""

# %% [markdown] task 10, write
r"""
Write the diffusivity of lean meat as a function of temperature $T$ in K and moisture $X$ in kg/kg:

$$D = D_{60}\,\exp(-\frac{E}{R}\,(\frac{1}{T} - \frac{1}{333.15}))\,\frac{X\,(1 + X_h)}{X + X_h}$$

with $D_{60}$ = 5.4e-10 m²/s, $E$ = 32 000 J/mol, $R$ = 8.314 J/(mol K), $X_h$ = 0.34 kg/kg. The check puts it into the package and dries a
slice with it.
"""


# %% start 10
def my_diffusivity(T, X):
    return ...


# %% answer 10
def my_diffusivity(T, X):
    return 5.4e-10 * np.exp(-32000 / 8.314 * (1 / T - 1 / 333.15)) * X * 1.34 / (X + 0.34)


# %% check 10
near(my_diffusivity(333.15, 1.0), 5.4e-10, 1e-12, "at 60 °C and 1 kg/kg it must be 5.4e-10")
near(
    my_diffusivity(313.15, 0.2),
    ds.LEAN_MEAT.value(313.15, 0.2),
    1e-13,
    "right at 60 °C and 1 kg/kg, wrong at 40 °C and 0.2 kg/kg",
)
own = ready_hours(ds.run(batch, diffusivity=diffusivity_law(my_diffusivity)))[0]
near(
    own,
    once("ready", lambda: ready_hours(ds.run(batch))[0]),
    0.01,
    "a slice dried by it is ready at another time",
)

# %% [markdown]
r"""
## 8. Where the model fails

The default $D$ is the geometric mean of four laboratories that differ by a factor of 2 either way, and above 60 °C it is extrapolated. Custom
says 4.5 to 7 h for such slices in a dehydrator (common practice, no source); the model says less.

## 9. Your own data

Weigh one slice every quarter of an hour in the first two hours, then every half hour. The dry solid: a piece dried overnight in an oven at 103 °C.
"""

# %% own
own_hours, own_grams, own_dry_grams = np.array([]), np.array([]), 1.0

# %%
measured = {"measured": (own_hours, own_grams / own_dry_grams - 1)}
lines(meat.hours, {"model": meat.moisture_db}, "time (h)", "moisture (kg/kg)", points=measured)

# %% [markdown]
r"""
**Sources.** Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 3-4. Carslaw & Jaeger, Conduction of Heat in Solids, section 2.9 (section
number from memory). The four laboratories behind the default diffusivity, and the statement of the trap: `validation/theory.md`.
"""
