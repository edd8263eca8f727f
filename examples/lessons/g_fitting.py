"""Source of lesson G, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson G: Fitting your class's own weighings

**Aims.** After this lesson you can

- fit one parameter of a model to a drying curve, with an interval, and look at what the fit leaves over;
- say why two parameters may fit no better and be known far worse;
- tell a good fit from a proof.

You need least squares and the idea of a standard error. Time: two hours.

*A simulation validates no process. Dryness says nothing about bacteria.*
"""

# %%
from dataclasses import replace

import numpy as np
from scipy.optimize import least_squares

import dryingsim as ds
from dryingsim.teaching import curves, lab_batch, lines, open_lesson

check = open_lesson("g_fitting", globals())

# %% [markdown]
r"""
## 1. The question

Laboratories differ by a factor of 2 either way on how fast water moves through meat. What is fitted here is one factor $f$ on the diffusivity. **Predict first:** you
weigh a batch nine times in six hours, each time to 3 g of 700 g. How well do you know $f$ then: to 1 %, 10 %, 50 %? And if the thickness is fitted too?
"""

# %% own
predicted_percent, predicted_percent_with_thickness = 10, 10

# %% [markdown]
r"""
## 2. Data

These weights are **made up**: the model itself with a factor that you are to find, plus an error of the scale of 3 g. Section 7 has room for real ones.
"""

# %%
scale_g = 3.0
minutes = np.array([0, 30, 60, 90, 120, 180, 240, 300, 360])
weighed = np.array([718.9, 615.9, 540.2, 481.0, 435.2, 362.8, 319.1, 292.6, 267.3])


def grams(factor, thickness=1.0, law=ds.LEAN_MEAT):
    own = replace(law, reference_m2_s=factor * law.reference_m2_s)
    run = curves(ds.run(lab_batch(thickness=f"{5 * thickness:.7f} mm"), interval_s=300, diffusivity=own))
    return np.interp(minutes, run.minutes, run.grams)


default = grams(1.0)
lines(minutes, {"default": default}, "time (min)", "weight (g)", points={"weighed": (minutes, weighed)})

# %% [markdown] task 1, read
r"""
By how many grams is the batch heavier than the default after 180 minutes (to 4 g)? Does water move faster or slower in it ("faster" or "slower")?
"""

# %% start 1
grams_heavier, this_meat = ..., ...

# %% answer 1
grams_heavier, this_meat = weighed[5] - default[5], "slower"

# %% check 1
near(grams_heavier, weighed[5] - default[5], 4, "the point at 180 minutes less the line there")
holds(this_meat == "slower", "heavier means that more water is left")

# %% [markdown]
r"""
## 3. By hand: the slope

After the beginning, $\ln X$ falls in a nearly straight line whose slope is about in proportion to $D$ (lesson B). Moisture is weight over dry solid, less one; of the batch
some 209.7 g are dry.
"""

# %% [markdown] task 2, reckon
r"""
From the weighings at 120 and 300 minutes and the default's weights at the same times: the ratio of the two slopes of $\ln X$, a first guess of $f$?
"""

# %% start 2
first_guess = ...


# %% answer 2
def slope(weights):
    return np.log((weights[7] / 209.7 - 1) / (weights[4] / 209.7 - 1))


first_guess = slope(weighed) / slope(default)

# %% check 2
falls = [np.log((w[7] / 209.7 - 1) / (w[4] / 209.7 - 1)) for w in (weighed, default)]
near(
    first_guess,
    falls[0] / falls[1],
    0.03,
    "X = weight / 209.7 - 1 at both times; the slope of the weighings over that of the default",
)

# %% [markdown] note 2
r"""
The guess is not right even without any error of the scale: the slice is still warming, the film has its share, and $D$ falls with moisture.
"""

# %% [markdown]
r"""
## 4. Least squares

Choose $f$ so that the sum of the squared misses, each over the error of the scale, is smallest. Fit $\ln f$: a factor cannot be negative, and its error is a percentage.
"""

# %% [markdown] task 3, run
r"""
Fit it, from $\ln f$ = -0.3: `least_squares(lambda p: (grams(np.exp(p[0])) - weighed) / scale_g, [-0.3], diff_step=0.02)`. What is $f$, and its standard error in per cent,
$100/\sqrt{\sum J^2}$ with the column `fit.jac`?
"""

# %% start 3
factor, error_percent = ..., ...

# %% answer 3
fit = least_squares(
    lambda p: (grams(np.exp(p[0])) - weighed) / scale_g, [-0.3], diff_step=0.02, xtol=1e-3, ftol=1e-3
)
factor, error_percent = np.exp(fit.x[0]), 100 / np.sqrt(np.sum(fit.jac**2))

# %% check 3
holds(0.6 < factor < 0.8, "the sum of squares is smaller elsewhere; print `fit.x`, which is the logarithm")
up, down = (grams(factor * g) for g in (1.02, 1 / 1.02))
sensitivity = (up - down) / (2 * np.log(1.02)) / scale_g
near(
    np.log(factor),
    np.log(factor) - np.sum(sensitivity * (grams(factor) - weighed) / scale_g) / np.sum(sensitivity**2),
    0.005,
    "not the smallest sum yet: take smaller steps",
)
near(
    error_percent,
    100 / np.sqrt(np.sum(sensitivity**2)),
    0.2,
    "one over the root of the sum of the squares of `fit.jac`, times 100",
)

# %% [markdown] note 3
r"""
The weights were made with $f$ = 0.7. The usual wrong prediction is that nine weighings to half a percent leave $f$ unknown to tens of per cent; with the thickness known,
it is between one and two.
"""

# %% [markdown] task 4, reckon
r"""
With the right model and the right error of the scale, the sum of the squares lies near its degrees of freedom: readings less parameters. What are the two here?
"""

# %% start 4
sum_of_squares, degrees_of_freedom = ..., ...

# %% answer 4
sum_of_squares, degrees_of_freedom = np.sum(((grams(factor) - weighed) / scale_g) ** 2), 8

# %% check 4
near(
    sum_of_squares,
    np.sum(((grams(factor) - weighed) / scale_g) ** 2),
    0.3,
    "each miss over `scale_g`, squared, then all added",
)
near(degrees_of_freedom, 8, 0, "nine readings, one parameter")

# %% [markdown]
r"""
## 5. Two parameters: the same fit, known far worse
"""

# %% [markdown] task 5, run
r"""
Suppose the thickness was not measured. Fit both, `p = [ln f, ln of the factor on the thickness]`, from `[np.log(factor), 0.05]`. With $C = (J^T J)^{-1}$: what is the standard error of $f$
now, in per cent, and the correlation of the two, $C_{12}/\sqrt{C_{11}\,C_{22}}$?
"""

# %% start 5
error_percent_both, correlation = ..., ...

# %% answer 5
both = least_squares(
    lambda p: (grams(np.exp(p[0]), np.exp(p[1])) - weighed) / scale_g,
    [np.log(factor), 0.05],
    diff_step=0.02,
    xtol=1e-3,
    ftol=1e-3,
)
covariance = np.linalg.inv(both.jac.T @ both.jac)
error_percent_both = 100 * np.sqrt(covariance[0, 0])
correlation = covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1])

# %% check 5
pairs = once(
    "pairs", lambda: [(grams(0.7 * 1.02), grams(0.7 / 1.02)), (grams(0.7, 1.02), grams(0.7, 1 / 1.02))]
)
jacobian = np.array([(more - less) / (2 * np.log(1.02)) for more, less in pairs]).T / scale_g
expected = np.linalg.inv(jacobian.T @ jacobian)
holds(
    error_percent_both > 3 * error_percent,
    "with the thickness unknown it is several times worse than in task 3",
)
near(
    error_percent_both,
    100 * np.sqrt(expected[0, 0]),
    25 * np.sqrt(expected[0, 0]),
    "the root of the first diagonal element of C, times 100",
)
near(
    correlation,
    expected[0, 1] / np.sqrt(expected[0, 0] * expected[1, 1]),
    0.02,
    "C12 over the roots of C11 and C22",
)

# %% [markdown] task 6, explain
r"""
The sum of squares hardly changes, and $f$ is known several times worse. What does the correlation say, and which measurement ends the argument?

- a: only the combination $D/L^2$ shows in a weight: a caliper on ten slices
- b: the model has too many nodes: a finer scale
- c: the weighings were too few: weigh every minute
"""

# %% start 6
what_ends_it = ...

# %% answer 6
what_ends_it = "a"

# %% check 6
chosen(what_ends_it, "a", "a thicker slice with faster meat: what does its weight look like?")

# %% [markdown]
r"""
## 6. Where the model fails: the wrong shape
"""

# %% [markdown] task 7, run
r"""
Take away one thing the model knows, the fall of $D$ with moisture (`law=replace(ds.LEAN_MEAT, half_moisture_db=0.0)` in `grams`), and fit $f$ again. How many times as large is the sum
of squares?
"""

# %% start 7
times_as_large = ...

# %% answer 7
flat = replace(ds.LEAN_MEAT, half_moisture_db=0.0)
wrong = least_squares(
    lambda p: (grams(np.exp(p[0]), law=flat) - weighed) / scale_g,
    [-0.4],
    diff_step=0.02,
    xtol=1e-3,
    ftol=1e-3,
)
times_as_large = 2 * wrong.cost / sum_of_squares

# %% check 7
constant = replace(ds.LEAN_MEAT, half_moisture_db=0.0)
trial = once(
    "trial",
    lambda: [np.sum(((grams(f, law=constant) - weighed) / scale_g) ** 2) for f in (0.5, 0.55, 0.6, 0.65)],
)
smallest = np.polyval(np.polyfit((0.5, 0.55, 0.6, 0.65), trial, 3), np.linspace(0.5, 0.65, 61)).min()
right = np.sum(((grams(factor) - weighed) / scale_g) ** 2)
near(
    times_as_large,
    smallest / right,
    0.1 * smallest / right,
    "the smallest sum with the flat law, over that of task 4",
)

# %% [markdown] note 7
r"""
The misses get a pattern: a row of pluses, then a row of minuses. No factor mends a wrong shape.
"""

# %% [markdown] task 8, explain
r"""
The factor also swallows whatever else is wrong: the air's speed, the salt, the humidity. When may you use it for the next batch?

- a: always: it was measured
- b: for the same meat, cut, marinade and appliance; not for another appliance or a very different thickness, and never as a statement about bacteria
- c: never
"""

# %% start 8
next_batch = ...

# %% answer 8
next_batch = "b"

# %% check 8
chosen(next_batch, "b", "what went into the factor of this batch, and what of it will be the same next time?")

# %% [markdown]
r"""
## 7. Write a model, and your own data
"""

# %% [markdown] task 9, write
r"""
Write a fit of your own that needs no library: given the sum of squares as a function of $\ln f$, return the $\ln f$ of its minimum by a parabola through three points at
`centre - step`, `centre` and `centre + step`.
"""


# %% start 9
def my_minimum(sum_of_squares_at, centre, step):
    return ...


# %% answer 9
def my_minimum(sum_of_squares_at, centre, step):
    low, middle, high = (sum_of_squares_at(centre + k * step) for k in (-1, 0, 1))
    return centre + 0.5 * step * (low - high) / (low - 2 * middle + high)


# %% check 9
near(my_minimum(lambda x: 3 + 2 * (x + 0.4) ** 2, 0.0, 0.1), -0.4, 1e-9, "for a parabola it is exact")
squares = once(
    "squares",
    lambda: {x: float(np.sum(((grams(np.exp(x)) - weighed) / scale_g) ** 2)) for x in (-0.45, -0.35, -0.25)},
)
near(
    my_minimum(lambda x: squares[round(x, 2)], -0.35, 0.1),
    np.log(factor),
    0.02,
    "right for a parabola, not for the weighings",
)

# %% [markdown]
r"""
Weigh the empty tray first. State the error of your scale honestly: what it shows when you weigh the same thing five times. `dryingsim learn BATCH.toml LOG.csv` does the same with more
unknowns at a time and with what was known before; a pattern for the log: `examples/weigh_ins.csv`.
"""

# %% own
own_minutes, own_grams = np.array([]), np.array([])

# %%
lines(
    minutes, {"default": default}, "time (min)", "weight (g)", points={"your own": (own_minutes, own_grams)}
)

# %% [markdown]
r"""
**Sources.** Any text on least squares; the spread between laboratories, and the four behind it: `validation/theory.md`, section diffusivity.
"""
