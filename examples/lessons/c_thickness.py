"""Source of lesson C, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson C: Thickness, the square law and where it fails

**Aims.** After this lesson you can

- use the square law, and say when it is too pessimistic and when too optimistic;
- tell by a Biot number whether the air or the meat limits drying;
- say what an uneven knife costs, and what a closed tray costs.

Time: one to two hours.

*A simulation validates no process. Dryness says nothing about bacteria.*
"""

# %%
import numpy as np

import dryingsim as ds
from dryingsim.teaching import curves, lab_batch, lines, open_lesson, ready_hours

check = open_lesson("c_thickness", globals())

# %% [markdown]
r"""
## 1. Predict first

Slices of 5 mm are ready after some hours. How many times as long do slices of 10 mm take, and of 2.5 mm? And slices of 5 mm on a closed sheet,
where only the upper surface dries?
"""

# %% own
predicted_times = {"10 mm": 4.0, "2.5 mm": 0.25, "sheet": 4.0}

# %% [markdown]
r"""
## 2. Nine thicknesses side by side

In given air slices do not feel each other, so one run holds all thicknesses. They are a metre wide, so that long edges play no part.
"""

# %%
mm = np.array([2, 2.5, 3, 4, 5, 6, 8, 10, 12])
wide = {"width": "1 m", "duration": "30 h"}
history = ds.run(lab_batch(thickness=[f"{one} mm" for one in mm], **wide), interval_s=300)
hours = ready_hours(history)
five = hours[mm == 5][0]
law = {"model": hours, "square law": five * (mm / 5) ** 2, "in proportion": five * mm / 5}
lines(mm, law, "thickness (mm)", "time until ready (h)", logarithmic="xy")

# %%
for thickness, time in zip(mm, hours, strict=True):
    print(f"{thickness:4.1f} mm: {time:5.2f} h")

# %% [markdown] task 1, read
r"""
From the picture or the list: how many times as long as slices of 5 mm do slices of 10 mm take, and slices of 2.5 mm?
"""

# %% start 1
ten_over_five, half_over_five = ..., ...

# %% answer 1
ten_over_five, half_over_five = hours[mm == 10][0] / five, hours[mm == 2.5][0] / five

# %% check 1
near(ten_over_five, hours[mm == 10][0] / five, 0.1, "divide the two times")
near(half_over_five, hours[mm == 2.5][0] / five, 0.02, "divide the two times")

# %% [markdown]
r"""
Diffusion through a slab depends on time only through $Fo = D\,t/L^2$ (lesson B). The same dryness is the same $Fo$, so $t = t_5\,(L/L_5)^2$.
"""

# %% [markdown] task 2, reckon
r"""
By the square law, from the time of 5 mm: how many hours do 12 mm take, and by how many hours is the law wrong (law less model)?
"""

# %% start 2
law_hours, law_error_hours = ..., ...

# %% answer 2
law_hours = five * (12 / 5) ** 2
law_error_hours = law_hours - hours[-1]

# %% check 2
near(law_hours, five * 5.76, 0.1, "the ratio of the thicknesses, squared, times the time of 5 mm")
near(law_error_hours, five * 5.76 - hours[-1], 0.15, "subtract the model's time for 12 mm")

# %% [markdown] task 3, reckon
r"""
The exponent $n$ in $t \propto L^n$ is the slope in the picture. What is it between 2 and 2.5 mm, and between 10 and 12 mm?
"""

# %% start 3
thin_exponent, thick_exponent = ..., ...

# %% answer 3
exponents = np.diff(np.log(hours)) / np.diff(np.log(mm))
thin_exponent, thick_exponent = exponents[0], exponents[-1]

# %% check 3
slopes = np.diff(np.log(hours)) / np.diff(np.log(mm))
near(
    [thin_exponent, thick_exponent],
    slopes[[0, -1]],
    0.03,
    "logarithm of the ratio of times over logarithm of the ratio of thicknesses",
)

# %% [markdown] task 4, explain
r"""
The exponent is nearest to 2 for the thickest. What else than diffusion takes time, and counts more in thin slices?

- a: the salt, which must crystallise first
- b: shrinkage, which is stronger in thin slices
- c: warming up, and the film of air at the surface, which takes a time in proportion to the thickness
"""

# %% start 4
what_else = ...

# %% answer 4
what_else = "c"

# %% check 4
chosen(what_else, "c", "what would the time be if water moved through meat without any resistance?")

# %% [markdown] note 4
r"""
For each gram of water, heat and vapour must pass the film: a part of the time in proportion to the thickness. Thin slices are also cooler
while most of their water leaves. With a diffusivity a hundred times higher all exponents are 1.
"""

# %% [markdown]
r"""
## 3. By hand: which limits, the air or the meat?

The film lets vapour pass at a rate $N$ at most; diffusion could bring the water at about $\rho_d\,D\,\Delta X/L$, with $L$ half the thickness.
Their ratio is a Biot number:

$$Bi = \frac{N\,L}{\rho_d\,D\,\Delta X}$$
"""

# %% [markdown] task 5, reckon
r"""
For 5 mm: $N$ = 1.1 kg/(m² h) for each surface, $\rho_d$ = 311 kg/m³, $D$ = 4.1e-10 m²/s (50 °C) and $\Delta X$ = 2 kg/kg. What is $Bi$?
"""

# %% start 5
biot = ...

# %% answer 5
biot = 1.1 / 3600 * 2.5e-3 / (311 * 4.1e-10 * 2)

# %% check 5
near(biot, 1.1 / 3600 * 2.5e-3 / (311 * 4.1e-10 * 2), 0.1, "N in kg/(m2 s); half the thickness in m")

# %% [markdown] note 5
r"""
About 3: the meat limits, but the film has its say. Far below 1 the time is in proportion to the thickness, far above the square law holds.
"""

# %% [markdown]
r"""
## 4. A closed sheet, and narrow strips
"""

# %% [markdown] task 6, run
r"""
How many times as long do 5 mm slices take on a closed sheet (`lab_batch(support="sheet", **wide)`)? And strips 5 mm thick and only 10 mm wide
(`width="10 mm"`, `duration="30 h"`), which dry through their long edges too?
"""

# %% start 6
sheet_over_mesh, strip_over_slice = ..., ...

# %% answer 6
sheet_over_mesh = ready_hours(ds.run(lab_batch(support="sheet", **wide)))[0] / five
strip_over_slice = ready_hours(ds.run(lab_batch(width="10 mm", duration="30 h")))[0] / five

# %% check 6
near(
    sheet_over_mesh,
    once("sheet", lambda: ready_hours(ds.run(lab_batch(support="sheet", **wide)))[0]) / five,
    0.05,
    'divide by `five`; is it `support="sheet"`?',
)
near(
    strip_over_slice,
    once("strip", lambda: ready_hours(ds.run(lab_batch(width="10 mm", duration="30 h")))[0]) / five,
    0.02,
    "strips are faster: below 1",
)

# %% [markdown] task 7, explain
r"""
By symmetry, half of a 10 mm slice is a 5 mm slice on a sheet. Yet the sheet is a little faster. Why?

- a: a sheet stops vapour, not heat: the lower surface still takes up heat, so that slice is warmer
- b: the model has too few nodes
- c: half of the slices on a sheet dry from below
"""

# %% start 7
why_faster = ...

# %% answer 7
why_faster = "a"

# %% check 7
chosen(
    why_faster,
    "a",
    "compare what reaches the lower surface of a slice on a sheet with what reaches the middle of a thick slice",
)

# %% [markdown]
r"""
## 5. What an uneven knife costs
"""

# %% [markdown] task 8, run
r"""
You meant 5 mm and cut from 4 to 6 mm. At the moment when the 6 mm slices of the run above are ready: what is the equilibrated water activity of
the 4 mm slices? (`curves(history, 3).activity` belongs to the fourth thickness; `np.interp` or `.at(..., minutes=...)` reads it.)
"""

# %% start 8
thin_activity = ...

# %% answer 8
thin = curves(history, 3)
thin_activity = thin.at(thin.activity, minutes=60 * hours[5])

# %% check 8
fourth = curves(history, 3)
near(
    thin_activity,
    fourth.at(fourth.activity, minutes=60 * hours[5]),
    0.01,
    "the time is that of 6 mm, the activity that of 4 mm",
)

# %% [markdown] note 8
r"""
Below about 0.60 dried meat turns brittle (an estimate, 0.30 to 0.66); the thin slices come near. Take slices out as they are ready.
"""

# %% [markdown]
r"""
## 6. Write a model
"""

# %% [markdown] task 9, write
r"""
Write a law that serves all thicknesses: $t = a\,L + b\,L^2$, the film's part and diffusion's. Find $a$ and $b$ from **two** of the thicknesses
and return the hours for any thickness in mm. It is tried from 2.5 to 12 mm, to 5 %.
"""


# %% start 9
def my_hours(thickness_mm):
    return ...


# %% answer 9
a, b = np.linalg.solve([[3, 9], [10, 100]], [hours[mm == 3][0], hours[mm == 10][0]])


def my_hours(thickness_mm):
    return a * thickness_mm + b * thickness_mm**2


# %% check 9
for thickness, time in zip(mm[1:], hours[1:], strict=True):
    near(
        my_hours(thickness),
        time,
        0.05 * time,
        f"at {thickness:g} mm it is off by more than 5 %; take two thicknesses that lie far apart",
    )
holds(my_hours(7.0) > my_hours(6.0), "a thicker slice takes longer")

# %% [markdown]
r"""
## 7. Where the model fails

Real slices taper: the thin end is brittle while the thick one is moist. And the spread of the diffusivity between laboratories moves all these times
together, by as much as a millimetre does (lesson K).

## 8. Your own data

Measure ten slices with a caliper, note when you took each out, and see where they lie.
"""

# %% own
own_mm, own_hours = np.array([]), np.array([])

# %%
lines(
    mm, {"model": hours}, "thickness (mm)", "time until ready (h)", points={"measured": (own_mm, own_hours)}
)

# %% [markdown]
r"""
**Sources.** Crank, The Mathematics of Diffusion, 2nd ed. (1975), ch. 4 (square law). Newman (1936), Trans. AIChE (edges: the product rule).
Brittleness: estimate with the sources in `validation/theory.md`, limits of texture.
"""
