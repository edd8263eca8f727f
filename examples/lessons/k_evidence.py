"""Source of lesson K, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near

# %% [markdown]
r"""
# Lesson K: What published evidence is worth: why a factor of two

**Aims.** After this lesson you can

- tell values from studies, and say why many values of one laboratory do not count as many;
- split a spread into its levels, and predict a laboratory (or kitchen) that nobody has measured;
- say where the factor of two on every drying time comes from, and what your own weighings do to it;
- leave one laboratory out and see whether an interval is honest.

You need means, variances and logarithms. Time: two hours.

*A simulation validates no process.*
"""

# %%
import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.teaching import lines, open_lesson, shared_table

check = open_lesson("k_evidence", globals())

# %% [markdown]
r"""
## 1. Predict first

Four laboratories have published how fast water moves through lean beef in hot air. A fifth will. Within which factor of their mean do you expect it, nine times in ten?
"""

# %% own
predicted_factor = 1.2

# %% [markdown]
r"""
## 2. Four laboratories

Brought to 60 °C and 1 kg/kg, their diffusivities are, in 1e-10 m²/s (`validation/theory.md`; Mewa 2018, Muga c. 2021, Ismail & Kocabay 2018, Trujillo 2007):
"""

# %%
four = np.array([2.65, 4.88, 10.57, 6.00])

# %% [markdown] task 1, reckon
r"""
What is their geometric mean, and the standard deviation of their logarithms (divide by $n - 1$)?
"""

# %% start 1
geometric_mean, sigma_ln = ..., ...

# %% answer 1
geometric_mean, sigma_ln = np.exp(np.log(four).mean()), np.log(four).std(ddof=1)

# %% check 1
near(geometric_mean, np.exp(np.log(four).mean()), 0.02, "the exponential of the mean of the logarithms")
near(sigma_ln, np.log(four).std(ddof=1), 0.01, "`np.log(four).std(ddof=1)`")

# %% [markdown] task 2, reckon
r"""
A fifth laboratory lies within $\exp(t\,\sigma\,\sqrt{1 + 1/n})$ of that mean nine times in ten, with Student's $t$ = 2.353 for three degrees of freedom. Which factor? And which factor would the *mean* be known to,
$\exp(t\,\sigma/\sqrt{n})$?
"""

# %% start 2
factor_of_a_fifth, factor_of_the_mean = ..., ...

# %% answer 2
factor_of_a_fifth = np.exp(2.353 * sigma_ln * np.sqrt(1 + 1 / 4))
factor_of_the_mean = np.exp(2.353 * sigma_ln / np.sqrt(4))

# %% check 2
sigma = np.log(four).std(ddof=1)
near(
    factor_of_a_fifth,
    np.exp(2.353 * sigma * np.sqrt(1.25)),
    0.1,
    "n is 4; both the spread of laboratories and the error of the mean take part",
)
near(factor_of_the_mean, np.exp(2.353 * sigma / 2), 0.05, "the error of a mean falls with the root of n")

# %% [markdown] note 2
r"""
The two are often mixed up. A kitchen is a new laboratory: the first factor counts. Better evidence makes the second one small, never the first.
"""

# %% [markdown]
r"""
## 3. Many values of few laboratories

The heat resistance of *Salmonella* in raw ground meat: published decimal reduction times, each with the group of authors it comes from. One common slope over temperature is taken off; what is left
is drawn laboratory by laboratory.
"""

# %%
rows = [
    row
    for row in shared_table("heat_resistance_evidence")
    if (row["organism"], row["form"], row["kind"], row["use"]) == ("Salmonella", "ground", "value", "fit")
    and not row["water_activity"]
]
laboratory = np.array([row["laboratory"] for row in rows])
above_60 = np.array([float(row["temperature_C"]) for row in rows]) - 60
log_d = np.log10([float(row["D_min"]) for row in rows])
slope = np.polyfit(above_60, log_d, 1)[0]
level = log_d - slope * above_60  # log10 of D at 60 °C, in minutes
names, index = np.unique(laboratory, return_inverse=True)
lines(
    np.array([-0.5, names.size - 0.5]),
    {},
    "laboratory",
    "log10 of D at 60 °C (min)",
    points={"a published value": (index, level)},
)

# %% [markdown] task 3, read
r"""
How many values are there, of how many laboratories, and how many values has the laboratory that published most?
"""

# %% start 3
values, laboratories, most = ..., ..., ...

# %% answer 3
values, laboratories, most = level.size, names.size, np.bincount(index).max()

# %% check 3
near(
    [values, laboratories, most],
    [level.size, names.size, np.bincount(index).max()],
    0,
    "`level.size`, `names`, and `np.bincount(index)`",
)

# %% [markdown] task 4, reckon
r"""
What is the standard deviation of the laboratories' *means* (`ddof=1`), and the pooled one *within* laboratories, $\sqrt{\sum (x - \bar x_{lab})^2/(n - k)}$ with $n$ values of $k$ laboratories?
"""

# %% start 4
between, within = ..., ...

# %% answer 4
means = np.array([level[index == lab].mean() for lab in range(names.size)])
between = means.std(ddof=1)
within = np.sqrt(np.sum((level - means[index]) ** 2) / (level.size - names.size))

# %% check 4
centres = np.array([level[index == lab].mean() for lab in range(names.size)])
near(between, centres.std(ddof=1), 0.01, "first one mean for each laboratory, then their standard deviation")
near(
    within,
    np.sqrt(np.sum((level - centres[index]) ** 2) / (level.size - names.size)),
    0.01,
    "`means[index]` puts each laboratory's mean beside its values",
)

# %% [markdown] task 5, reckon
r"""
*If all values were independent*, the error of the mean level would be $s/\sqrt{n}$ with $s$ their standard deviation. With laboratories as what is independent, it is `between` over the root of their number. How many times
as large?
"""

# %% start 5
times_as_large = ...

# %% answer 5
times_as_large = (between / np.sqrt(names.size)) / (level.std(ddof=1) / np.sqrt(level.size))

# %% check 5
centres = np.array([level[index == lab].mean() for lab in range(names.size)])
by_lab = centres.std(ddof=1) / np.sqrt(names.size)
near(times_as_large, by_lab / (level.std(ddof=1) / np.sqrt(level.size)), 0.1, "the second over the first")

# %% [markdown] task 6, explain
r"""
The laboratory with most values measures forty more, and they agree nicely. How much better is a *new* laboratory predicted?

- a: twice as well: there are twice as many values
- b: hardly better: that laboratory's own mean is better known, but how laboratories differ is not
- c: worse
"""

# %% start 6
forty_more = ...

# %% answer 6
forty_more = "b"

# %% check 6
chosen(
    forty_more,
    "b",
    "which of the two standard deviations of task 4 do forty more values of one laboratory tell about?",
)

# %% [markdown] task 7, reckon
r"""
Partial pooling: a laboratory with $m$ values is believed by $w = \tau^2/(\tau^2 + \sigma^2/m)$, the rest is the common mean. With $\tau$ = 0.50 between and $\sigma$ = 0.20 within, about as here: what is $w$ for one value, and for nine?
"""

# %% start 7
weight_of_one, weight_of_nine = ..., ...

# %% answer 7
weight_of_one, weight_of_nine = (0.50**2 / (0.50**2 + 0.20**2 / m) for m in (1, 9))

# %% check 7
near(
    [weight_of_one, weight_of_nine],
    [0.25 / (0.25 + 0.04 / m) for m in (1, 9)],
    0.005,
    "squares of both; the second over m",
)

# %% [markdown]
r"""
## 4. Why a factor of two

54 published times and points of drying curves of 18 studies, put through the whole simulation, give the spreads of $\ln t$ at known inputs: between studies a Student's $t$ of scale 0.319 with 6.2 degrees of freedom (its 95 % point is 1.93), and from batch to
batch of one laboratory a normal of 0.092.
"""

# %%
evidence = between_studies()
print(f"nine in ten batches of a new kitchen lie within a factor {evidence.factor_new_batch:g}")
print(f"left-out published times inside 50, 80, 90 % intervals: {evidence.coverage}")

# %% [markdown] task 8, reckon
r"""
Put them together: nine in ten of a new kitchen's batches lie within $\exp\sqrt{(1.93\cdot 0.319)^2 + (1.645\cdot 0.092)^2}$. Which factor? (What is missing to the printed one is how well the middle itself is known.) And which factor is left
once your kitchen has been measured without error, so that only batches differ?
"""

# %% start 8
new_kitchen_factor, own_kitchen_factor = ..., ...

# %% answer 8
new_kitchen_factor = np.exp(np.hypot(1.93 * 0.319, 1.645 * 0.092))
own_kitchen_factor = np.exp(1.645 * 0.092)

# %% check 8
near(
    new_kitchen_factor,
    np.exp(np.hypot(1.93 * 0.319, 1.645 * 0.092)),
    0.02,
    "a root of a sum of squares, then the exponential",
)
near(own_kitchen_factor, np.exp(1.645 * 0.092), 0.01, "leave the kitchens out")
holds(
    new_kitchen_factor < between_studies().factor_new_batch < 1.3 * new_kitchen_factor,
    "what the text says of the evidence no longer holds",
)

# %% [markdown] note 8
r"""
That is why `dryingsim learn` asks for a few weighings: they take the kitchen's part away. No better law would: of eight others that were tried on left-out studies, none beat the present one.
"""

# %% [markdown] task 9, explain
r"""
A law is fitted to all studies and then agrees with them. Is that a check?

- a: yes, if the agreement is within the stated errors
- b: no: what was read while a constant was chosen is evidence, not a check. Leave each study out in turn, and see whether it falls inside the interval as often as stated
- c: yes, if there are more than thirty values
"""

# %% start 9
is_it_a_check = ...

# %% answer 9
is_it_a_check = "b"

# %% check 9
chosen(is_it_a_check, "b", "could that agreement have failed?")

# %% [markdown]
r"""
## 5. Write a model
"""

# %% [markdown] task 10, write
r"""
Write the honesty test: for laboratories' means (an array), leave each out in turn, predict it from the others by $\bar x \pm z\,s\,\sqrt{1 + 1/(k - 1)}$ ($s$ with `ddof=1`, $k$ of them in all), and return the share of those that lie inside.
"""


# %% start 10
def my_coverage(means, z):
    return ...


# %% answer 10
def my_coverage(means, z):
    inside = []
    for k in range(len(means)):
        others = np.delete(means, k)
        width = z * others.std(ddof=1) * np.sqrt(1 + 1 / len(others))
        inside.append(abs(means[k] - others.mean()) <= width)
    return np.mean(inside)


# %% check 10
near(
    my_coverage(np.array([1.0, 2.0, 3.0, 40.0]), 2.0),
    0.75,
    1e-9,
    "of 1, 2, 3 and 40 with z = 2, only the 40 lies outside its prediction by the others",
)
rng = np.random.default_rng(0)
share = np.mean([my_coverage(rng.normal(size=12), 1.80) for _ in range(300)])
near(
    share, 0.90, 0.03, "right for four numbers; for twelve normal ones with z = 1.80 it should be about 90 %"
)

# %% [markdown]
r"""
## 6. Where this fails, and your own class

Laboratories that publish are no random sample of kitchens. Four groups of your class each dry the same meat, twice, to the same weight: how many minutes did they take? One row a group.
"""

# %% own
own_minutes = np.array(
    [[190.0, 200.0], [230.0, 221.0], [205.0, 214.0], [178.0, 187.0]]
)  # invented: put yours here

# %%
print(
    f"ln t, between groups {np.log(own_minutes).mean(axis=1).std(ddof=1):.2f}, within {np.sqrt(np.log(own_minutes).var(axis=1, ddof=1).mean()):.2f}"
)

# %% [markdown]
r"""
**Sources.** `shared/heat_resistance_evidence.csv` and `shared/drying_evidence.csv`, each row with its citation and status; how the package weighs them: `validation/theory.md`. Partial pooling: any text on
hierarchical models.
"""
