"""Source of lesson L, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson L: Designing an experiment with the class's own dryer

**Aims.** After this lesson you can

- say before you weigh anything how well a set of weighings will know what you want to know, and choose the best times;
- design a small factorial experiment, with blocks, and say how many batches it takes to see a difference;
- read an interaction, and plan an afternoon with your own dryer.

You need lessons G and K. Time: two hours, and an afternoon.

*A simulation validates no process. Dryness says nothing about bacteria.*
"""

# %%
from dataclasses import replace
from itertools import combinations

import numpy as np

import dryingsim as ds
from dryingsim.teaching import curves, lab_batch, lines, open_lesson, ready_hours

check = open_lesson("l_experiment", globals())

# %% [markdown]
r"""
## 1. Predict first

You may weigh the batch four times in six hours, to 3 g, to find the factor $f$ on the diffusivity (lesson G). When do you weigh?
"""

# %% own
predicted_minutes = [90, 180, 270, 360]

# %% [markdown]
r"""
## 2. What a weighing tells

The sensitivity of a weighing is how many grams it changes when $\ln f$ (or $\ln$ of the thickness) changes by one. It needs no experiment: the model says it.
"""

# %%
minutes = np.arange(15, 361, 15)


def grams(factor=1.0, thickness=1.0):
    law = replace(ds.LEAN_MEAT, reference_m2_s=factor * ds.LEAN_MEAT.reference_m2_s)
    run = curves(ds.run(lab_batch(thickness=f"{5 * thickness:.4f} mm"), interval_s=300, diffusivity=law))
    return np.interp(minutes, run.minutes, run.grams)


by_factor = (grams(1.1) - grams(1 / 1.1)) / (2 * np.log(1.1))
by_thickness = (grams(thickness=1.1) - grams(thickness=1 / 1.1)) / (2 * np.log(1.1))
lines(minutes, {"ln f": by_factor, "ln thickness": by_thickness}, "time (min)", "change of the weight (g)")

# %% [markdown] task 1, read
r"""
When does a weighing tell most about $f$ (to 20 minutes), and how many grams does the batch lose more there if $f$ is 10 % larger (to 1 g)?
"""

# %% start 1
best_minute, grams_per_10_percent = ..., ...

# %% answer 1
best_minute = minutes[np.abs(by_factor).argmax()]
grams_per_10_percent = np.abs(by_factor).max() * np.log(1.1)

# %% check 1
near(best_minute, minutes[np.abs(by_factor).argmax()], 20, "where the line lies farthest from zero")
near(
    grams_per_10_percent,
    np.abs(by_factor).max() * np.log(1.1),
    1,
    "ten per cent are 0.095 of ln f; grams lost, so above zero",
)

# %% [markdown] task 2, reckon
r"""
With an error of 3 g for each weighing, the standard error of $\ln f$ is $3/\sqrt{\sum s_i^2}$. How many per cent, for one weighing at the best time, and for four weighings at 90, 180, 270 and 360 minutes?
"""

# %% start 2
one_percent, four_percent = ..., ...

# %% answer 2
spaced = np.isin(minutes, (90, 180, 270, 360))
one_percent = 100 * 3 / np.abs(by_factor).max()
four_percent = 100 * 3 / np.sqrt(np.sum(by_factor[spaced] ** 2))

# %% check 2
picked = np.isin(minutes, (90, 180, 270, 360))
near(one_percent, 300 / np.abs(by_factor).max(), 0.1, "3 g over the largest sensitivity, times 100")
near(
    four_percent,
    300 / np.sqrt(np.sum(by_factor[picked] ** 2)),
    0.1,
    "add the squares of the four sensitivities",
)

# %% [markdown] task 3, run
r"""
Now the thickness is unknown too. With the two columns of sensitivities at the times chosen, $M = S^T S/9$ is the information; the standard error of $\ln f$ is $\sqrt{(M^{-1})_{11}}$. How many per cent for 90, 180, 270, 360 minutes?
"""

# %% start 3
four_percent_both = ...

# %% answer 3
sensitivity = np.column_stack([by_factor, by_thickness])
information = sensitivity[spaced].T @ sensitivity[spaced] / 9
four_percent_both = 100 * np.sqrt(np.linalg.inv(information)[0, 0])

# %% check 3
both = np.column_stack([by_factor, by_thickness])[np.isin(minutes, (90, 180, 270, 360))]
near(
    four_percent_both,
    100 * np.sqrt(np.linalg.inv(both.T @ both / 9)[0, 0]),
    1,
    "stack both columns, take the four rows, invert the 2 by 2 matrix",
)

# %% [markdown] task 4, run
r"""
Which four of the times in `minutes`, an hour apart at least, know $f$ best when the thickness is unknown? (`combinations(range(minutes.size), 4)` lists all; keep those with `np.diff(minutes[list(c)]).min() >= 60`.)
"""

# %% start 4
best_times = [..., ..., ..., ...]


# %% answer 4
def error(chosen_rows):
    rows = np.column_stack([by_factor, by_thickness])[list(chosen_rows)]
    return np.sqrt(np.linalg.inv(rows.T @ rows / 9)[0, 0])


apart = [c for c in combinations(range(minutes.size), 4) if np.diff(minutes[list(c)]).min() >= 60]
best_times = sorted(minutes[list(min(apart, key=error))])


# %% check 4
def standard_error(places):
    rows = np.column_stack([by_factor, by_thickness])[list(places)]
    return np.sqrt(np.linalg.inv(rows.T @ rows / 9)[0, 0])


allowed = [c for c in combinations(range(minutes.size), 4) if np.diff(minutes[list(c)]).min() >= 60]
smallest = once("smallest", lambda: min(standard_error(c) for c in allowed))
places = np.searchsorted(minutes, np.sort(best_times))
holds(
    places.max() < minutes.size and np.diff(np.sort(best_times)).min() >= 60,
    "four times from `minutes`, an hour apart at least",
)
holds(
    standard_error(places) < 1.02 * smallest,
    "another four are better by more than 2 %; is f's error compared, not that of the thickness?",
)

# %% [markdown] note 4
r"""
An early pair and a late pair: there the two lines differ in shape. It is still about 12 % against 2 % with the thickness known: a caliper is worth more than any choice of times.
"""

# %% [markdown]
r"""
## 3. A factorial experiment

Two thicknesses (4 and 6 mm), two air temperatures (60 and 70 °C): four batches. The model dries them, so that you know beforehand what you should see.
"""

# %%
ln_t = np.array(
    [
        [
            np.log(ready_hours(ds.run(lab_batch(thickness=f"{mm} mm", air=f"{c} degC", duration="14 h")))[0])
            for c in (60, 70)
        ]
        for mm in (4, 6)
    ]
)
ln_t  # rows: 4 mm, 6 mm; columns: 60 °C, 70 °C

# %% [markdown] task 5, reckon
r"""
The main effect of a factor is the mean of $\ln t$ at its high level less that at its low level; the interaction is half the difference of the effect of temperature in thick and in thin slices. What are the three?
"""

# %% start 5
of_thickness, of_temperature, interaction = ..., ..., ...

# %% answer 5
of_thickness = ln_t[1].mean() - ln_t[0].mean()
of_temperature = ln_t[:, 1].mean() - ln_t[:, 0].mean()
interaction = 0.5 * ((ln_t[1, 1] - ln_t[1, 0]) - (ln_t[0, 1] - ln_t[0, 0]))

# %% check 5
near(
    of_thickness,
    ln_t[1].mean() - ln_t[0].mean(),
    0.005,
    "mean of the row of 6 mm less mean of the row of 4 mm",
)
near(
    of_temperature,
    ln_t[:, 1].mean() - ln_t[:, 0].mean(),
    0.005,
    "mean of the column of 70 °C less that of 60 °C",
)
near(
    interaction,
    0.5 * (ln_t[1, 1] - ln_t[1, 0] - ln_t[0, 1] + ln_t[0, 0]),
    0.003,
    "half of: what 70 °C does to 6 mm, less what it does to 4 mm",
)

# %% [markdown] task 6, explain
r"""
Why four batches of a factorial rather than three, changing one thing at a time from 4 mm and 60 °C?

- a: each main effect rests on all four batches, and only the factorial can show an interaction
- b: four is an even number, which suits two trays
- c: three batches would do as well
"""

# %% start 6
why_factorial = ...

# %% answer 6
why_factorial = "a"

# %% check 6
chosen(why_factorial, "a", "how many batches speak for the effect of temperature in either design?")

# %% [markdown]
r"""
## 4. How many batches?

Batches of one kitchen differ by a standard deviation of about 0.10 in $\ln t$ at the same settings (lesson K). To find a difference $\delta$ four times in five (power 80 %) at the 5 % level, each of two settings needs
about $n = 2\,(1.96 + 0.84)^2\,(\sigma/\delta)^2$ batches.
"""

# %% [markdown] task 7, reckon
r"""
How many batches of each setting (round up) does it take to see the effect of temperature of task 5, and how many to see 10 % (0.095)?
"""

# %% start 7
batches_for_temperature, batches_for_ten_percent = ..., ...

# %% answer 7
batches_for_temperature, batches_for_ten_percent = (
    int(np.ceil(2 * 2.8**2 * (0.10 / d) ** 2)) for d in (abs(of_temperature), 0.095)
)

# %% check 7
effect = abs(ln_t[:, 1].mean() - ln_t[:, 0].mean())
near(
    batches_for_temperature,
    np.ceil(2 * 2.8**2 * (0.10 / effect) ** 2),
    0,
    "put the effect without its sign into the formula, and round up",
)
near(batches_for_ten_percent, np.ceil(2 * 2.8**2 * (0.10 / 0.095) ** 2), 0, "the same with 0.095")

# %% [markdown] task 8, explain
r"""
You have one piece of meat a day and two dryers of the same kind. How do you compare 60 and 70 °C?

- a: 60 °C in the first week, 70 °C in the second
- b: 60 °C always in the left dryer, 70 °C always in the right one
- c: each day's piece is halved, one half to each setting, and a coin decides which dryer gets which: day and piece are blocks
"""

# %% start 8
how_to_compare = ...

# %% answer 8
how_to_compare = "c"

# %% check 8
chosen(
    how_to_compare, "c", "in the others, what else differs between the two settings besides the temperature?"
)

# %% [markdown] note 8
r"""
Pairing within a piece takes the differences between pieces out of the comparison; the coin takes out that between the dryers, on the average.
"""

# %% [markdown]
r"""
## 5. Know your dryer first

An open pan of water on a middle tray, empty dryer: what it loses tells the film, and that is one unknown less (`dryingsim measure pan --help`).
"""

# %% [markdown] task 9, reckon
r"""
A pan of 0.020 m² loses 14 g in 30 minutes. Its water stands at 33 °C, where saturated vapour has 5030 Pa; the air has 1120 Pa of vapour. The mass flux is $N = \frac{0.622\,h}{c_p\,Le^{2/3}}\,\frac{p_s - p}{P}$, with $c_p$ = 1006,
$Le$ = 0.85, $P$ = 101 325 Pa. Which $h$, in W/(m² K)?
"""

# %% start 9
film_W_m2K = ...

# %% answer 9
film_W_m2K = 0.014 / 1800 / 0.020 * 1006 * 0.85 ** (2 / 3) / 0.622 * 101325 / (5030 - 1120)

# %% check 9
near(
    film_W_m2K,
    0.014 / 1800 / 0.020 * 1006 * 0.85 ** (2 / 3) / 0.622 * 101325 / 3910,
    0.5,
    "first the flux in kg/(m2 s), from grams, minutes and area",
)

# %% [markdown]
r"""
## 6. Write a model
"""

# %% [markdown] task 10, write
r"""
Write a designer: given a table of sensitivities (rows: possible weighings, columns: what is unknown), choose $n$ rows one after the other, each time the one that makes the determinant of $S^T S + 10^{-6}\,I$ largest; a row may be
chosen once. Return the list of row numbers in the order chosen.
"""


# %% start 10
def my_design(table, n):
    return ...


# %% answer 10
def my_design(table, n):
    chosen_rows = []
    for _ in range(n):
        free = [row for row in range(len(table)) if row not in chosen_rows]

        def gain(row):
            rows = table[[*chosen_rows, row]]
            return np.linalg.det(rows.T @ rows + 1e-6 * np.eye(table.shape[1]))

        chosen_rows.append(max(free, key=gain))
    return chosen_rows


# %% check 10
small = np.array([[1.0, 0.0], [0.9, 0.1], [0.0, 0.8], [0.5, 0.5]])
holds(
    [int(row) for row in my_design(small, 2)] == [0, 2],
    "of the rows (1, 0), (0.9, 0.1), (0, 0.8), (0.5, 0.5) the first two are 0, then 2",
)
table = np.column_stack([by_factor, by_thickness])
design = table[[int(row) for row in my_design(table, 4)]]
best = max(np.linalg.det(table[list(c)].T @ table[list(c)]) for c in combinations(range(len(table)), 4))
holds(
    np.linalg.det(design.T @ design) > 0.9 * best,
    "right for the small table; for the weighings another four are better by more than a tenth",
)

# %% [markdown]
r"""
## 7. Where this fails, and your own afternoon

A design is as good as the model behind its sensitivities: where the shape is wrong (lesson G), so are the best times. Weigh once more than it asks for.

Write the plan down before you begin: what is changed, what is kept, who weighs when, what you expect to see (from the model), and how many batches it takes. Then enter what you found: the hours of the four batches. A batch file with your
own appliance (`[appliance] file = "mine.toml"`, from `dryingsim measure`) says what to expect of it.
"""

# %% own
own_file = ""  # such as "our_batch.toml"
own_hours = np.array([[3.1, 2.6], [6.0, 4.9]])  # invented: rows 4 mm, 6 mm; columns 60 °C, 70 °C

# %%
if own_file:
    print(
        ds.vary(own_file, "stage.1.air", "60, 70 degC").measures["done_s"] / 3600,
        "h expected at 60 and 70 °C",
    )
own = np.log(own_hours)
print(
    f"thickness {own[1].mean() - own[0].mean():+.2f}, temperature {own[:, 1].mean() - own[:, 0].mean():+.2f}"
)

# %% [markdown]
r"""
**Sources.** Sensitivities, information and factorial designs: any text on the design of experiments (Box, Hunter & Hunter). Spread from batch to batch: lesson K. The analogy of heat and mass: lesson A.
"""
