"""Source of lesson H, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson H: Uncertainty, from slice to slice and from batch to batch

**Aims.** After this lesson you can

- carry uncertain inputs through a model by drawing them at random, and check the result by hand;
- tell what differs *within* a batch from what is the same for all of it, and why that decides the chance of a miss;
- say which measurement would narrow an answer most.

You need standard deviations and logarithms. Time: one to two hours.

*A simulation validates no process. Dryness says nothing about bacteria.*
"""

# %%
from dataclasses import replace

import numpy as np

import dryingsim as ds
from dryingsim.teaching import lab_batch, lines, open_lesson, ready_hours

check = open_lesson("h_uncertainty", globals())

# %% [markdown]
r"""
## 1. Predict first

Slices of 5 mm, hand-cut (± 10 %), of a meat whose diffusivity differs from kitchen to kitchen by a factor of about 1.6. As it is meant they are ready after a little
over three hours. Between which hours are 90 % of all slices of all such batches ready? Which share is not ready after five hours?
"""

# %% own
predicted_hours, predicted_not_ready = (3.0, 4.0), 0.05

# %%
batch = lab_batch(duration="14 h")
uncertainties = ds.default_uncertainties()
drawn = ds.spread(batch, slices=1024, nodes=16, seed=3)
ready = np.minimum(
    drawn.done_s / 3600, 14.0
)  # hours, slice by slice, batch after batch; 14: not ready at the end
drawn.plot()

# %%
shares = np.linspace(0.02, 0.98, 49)
lines(
    [drawn.done_quantile(q) / 3600 for q in shares],
    {"ready": shares},
    "time (h)",
    "share of all slices that is ready",
)

# %% [markdown] task 1, read
r"""
From the last picture: after how many hours are 5 %, half, and 95 % of the slices ready (to 0.3)?
"""

# %% start 1
ready_at = [..., ..., ...]

# %% answer 1
ready_at = [drawn.done_quantile(q) / 3600 for q in (0.05, 0.5, 0.95)]

# %% check 1
near(
    ready_at,
    [drawn.done_quantile(q) / 3600 for q in (0.05, 0.5, 0.95)],
    0.3,
    "go across at that share until you meet the line, then down",
)

# %% [markdown]
r"""
## 2. By hand: propagate the errors

If $t$ goes as $D^{-1} L^2$ (lesson C), relative errors add as squares: $\sigma_{\ln t}^2 = \sigma_{\ln D}^2 + (2\,\sigma_{\ln L})^2$. The package takes, of $\ln D$, 0.486 between
kitchens, 0.10 between batches and 0.10 between slices; of $\ln L$, 0.10 between slices and 0.05 within one.
"""

# %% [markdown] task 2, reckon
r"""
What is $\sigma_{\ln t}$ by the square law?
"""

# %% start 2
square_law_sigma = ...

# %% answer 2
square_law_sigma = np.sqrt(0.486**2 + 0.10**2 + 0.10**2 + 4 * (0.10**2 + 0.05**2))

# %% check 2
near(
    square_law_sigma,
    np.sqrt(0.486**2 + 0.02 + 4 * 0.0125),
    0.01,
    "first add the squares of the parts of each, then take four times those of L",
)
near(uncertainties["diffusivity"].deviation, 0.486, 0.01)

# %% [markdown] task 3, run
r"""
The square law exaggerates. Find the exponents from the model itself: `t` goes as $D^p L^q$. Change one at a time by a factor of 1.5 either way for $D$
(`diffusivity=replace(ds.LEAN_MEAT, reference_m2_s=...)`) and by 1.2 for $L$ (`lab_batch(thickness="6 mm", duration="14 h")`).
"""

# %% start 3
p, q = ..., ...


# %% answer 3
def hours(factor=1.0, mm=5.0):
    law = replace(ds.LEAN_MEAT, reference_m2_s=factor * ds.LEAN_MEAT.reference_m2_s)
    return ready_hours(ds.run(lab_batch(thickness=f"{mm:.3f} mm", duration="14 h"), diffusivity=law))[0]


p = np.log(hours(1.5) / hours(1 / 1.5)) / (2 * np.log(1.5))
q = np.log(hours(mm=6.0) / hours(mm=5 / 1.2)) / (2 * np.log(1.2))


# %% check 3
def time_of(factor, mm):
    law = replace(ds.LEAN_MEAT, reference_m2_s=factor * ds.LEAN_MEAT.reference_m2_s)
    return ready_hours(ds.run(lab_batch(thickness=f"{mm:.3f} mm", duration="14 h"), diffusivity=law))[0]


fast, slow, thick, thin = once(
    "times", lambda: [time_of(*one) for one in ((1.5, 5), (1 / 1.5, 5), (1, 6), (1, 5 / 1.2))]
)
near(
    p,
    np.log(fast / slow) / (2 * np.log(1.5)),
    0.05,
    "ln of the ratio of times over ln of the ratio of D; more D is less time, so p is below zero",
)
near(q, np.log(thick / thin) / (2 * np.log(1.2)), 0.05, "ln of the ratio of times over ln of the ratio of L")

# %% [markdown] task 4, reckon
r"""
With these exponents: what is $\sigma_{\ln t}$ by hand, and between which hours do 90 % lie ($\pm 1.645\,\sigma$ about the logarithm of the median, task 1)?
"""

# %% start 4
sigma_by_hand = ...
low_hours, high_hours = ..., ...

# %% answer 4
sigma_by_hand = np.hypot(p * np.sqrt(0.486**2 + 0.02), q * np.sqrt(0.0125))
low_hours, high_hours = (ready_at[1] * np.exp(k * 1.645 * sigma_by_hand) for k in (-1, 1))

# %% check 4
median = drawn.done_quantile(0.5) / 3600
own = np.hypot(p * np.sqrt(0.486**2 + 0.02), q * np.sqrt(0.0125))
near(sigma_by_hand, own, 0.01, "p times the sigma of ln D, q times that of ln L, then as squares")
near(
    [low_hours, high_hours],
    median * np.exp(1.645 * own * np.array([-1, 1])),
    0.3,
    "multiply the median by exp(-1.645 sigma) and exp(+1.645 sigma)",
)
holds(
    abs(own / np.log(ready).std() - 1) < 0.25,
    "what was drawn and what is reckoned by hand no longer agree",
)

# %% [markdown] note 4
r"""
By hand and drawn agree within a quarter: the sample is small, and by hand there are two inputs only.
"""

# %% [markdown]
r"""
## 3. The chance of at least one miss
"""

# %% [markdown] task 5, reckon
r"""
Which share $p$ of all slices is not ready after 5 h (`(ready > 5).mean()`)? A batch has 23 slices. *If they were independent*, which chance that at least one of them is
not ready: $1 - (1 - p)^{23}$?
"""

# %% start 5
not_ready, independent_chance = ..., ...

# %% answer 5
not_ready = (ready > 5).mean()
independent_chance = 1 - (1 - not_ready) ** 23

# %% check 5
near(not_ready, (ready > 5).mean(), 0.01, "a share of all slices")
near(
    independent_chance,
    1 - (1 - (ready > 5).mean()) ** 23,
    0.01,
    "one less the chance that all of them are ready",
)

# %% [markdown] task 6, explain
r"""
`drawn.slowest_misses(5 * 3600)` counts it batch by batch: the true chance is much smaller. Why, and what is worse in return?

- a: slices of a batch share how fast *this meat* lets water pass: if one is late most are, and a batch that misses misses with many
- b: the sample is too small; nothing is worse
- c: slices dry each other; the last one is later
"""

# %% start 6
why_smaller = ...

# %% answer 6
why_smaller = "a"

# %% check 6
chosen(
    why_smaller,
    "a",
    "look at the share that is not ready, batch by batch: `(ready > 5).reshape(-1, slices)` with the slices drawn for each batch",
)
holds(
    drawn.slowest_misses(5 * 3600.0).value < 1 - (1 - (ready > 5).mean()) ** 23 - 0.1,
    "what the text says of the chance no longer holds",
)

# %% [markdown] task 7, run
r"""
Which share of the variance of the time lies *between* batches? Work it out from `ready`: reshape to one row per batch (`drawn.sample.batches["setpoint"].size` rows), take $\ln$, and
divide the variance of the rows' means by the variance of all. (To 0.08.)
"""

# %% start 7
between_share = ...

# %% answer 7
by_batch = np.log(ready).reshape(drawn.sample.batches["setpoint"].size, -1)
between_share = by_batch.mean(axis=1).var() / by_batch.var()

# %% check 7
rows = np.log(ready).reshape(drawn.sample.batches["setpoint"].size, -1)
near(
    between_share,
    rows.mean(axis=1).var() / rows.var(),
    0.08,
    "one mean for each batch; then the variance of the means",
)

# %% [markdown]
r"""
## 4. What matters most?
"""

# %%
list(drawn.influences().items())[:5]  # rank correlation of each input with the time

# %% [markdown] task 8, explain
r"""
You can buy a better thermometer, a slicing machine, or weigh one batch and fit it (lesson G). In which order?

- a: thermometer, machine, fit
- b: fit, machine, thermometer
- c: machine, thermometer, fit
"""

# %% start 8
order = ...

# %% answer 8
order = "b"

# %% check 8
chosen(
    order, "b", "which input has the strongest correlation, and what does each purchase make better known?"
)

# %% [markdown] note 8
r"""
The diffusivity is by far the largest part, and weighing costs nothing. The thermometer hardly matters for *dryness*; for bacteria it does.
"""

# %% [markdown]
r"""
## 5. Write a model
"""

# %% [markdown] task 9, write
r"""
Write your own sampler: draw $n$ times with `rng.normal`, from $t = t_0\,(D/D_0)^{p}\,(L/L_0)^{q}$ with the sigmas given above, all slices independent, and return the 5 %, 50 % and 95 %
quantiles in hours for a median $t_0$.
"""


# %% start 9
def my_quantiles(t0, p, q, n, rng):
    return ...


# %% answer 9
def my_quantiles(t0, p, q, n, rng):
    ln_t = p * rng.normal(0, np.sqrt(0.486**2 + 0.02), n) + q * rng.normal(0, np.sqrt(0.0125), n)
    return t0 * np.exp(np.quantile(ln_t, [0.05, 0.5, 0.95]))


# %% check 9
sigma = np.hypot(0.8 * np.sqrt(0.486**2 + 0.02), 1.6 * np.sqrt(0.0125))
sampled = my_quantiles(3.2, -0.8, 1.6, 20000, np.random.default_rng(1))
near(
    np.log(sampled),
    np.log(3.2) + sigma * np.array([-1.645, 0, 1.645]),
    0.03,
    "with 20 000 draws it must come near the calculation by hand",
)

# %% [markdown]
r"""
## 6. Where the model fails

- The sizes of most uncertainties are estimates. Random numbers make nothing better known than it was put in.
- The *shape* of the model (one dimension, no fat, no drip) is not among the uncertainties. In a checkout of the project, `python -m validation` looks at that.

## 7. Your own data

Measure twenty slices with a caliper: what is the standard deviation of $\ln L$ of *your* knife?
"""

# %% own
own_mm = np.array([4.6, 5.2, 5.9, 4.8, 5.1])  # invented: put yours here

# %%
own_sigma = float(np.log(own_mm).std(ddof=1))
print(
    f'{own_mm.mean():.1f} mm, {own_sigma:.2f}. In a batch file: [spread] thickness_between = "{100 * own_sigma:.0f} %"'
)

# %% [markdown]
r"""
**Sources.** The size and the origin of every uncertainty: `validation/theory.md`, "What is uncertain". Sobol (1967) (sequences that fill the space evenly).
"""
