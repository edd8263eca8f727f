"""Source of lesson E, see README.md."""

from dryingsim.teaching.checks import chosen, holds, near, once

# %% [markdown]
r"""
# Lesson E: Water activity, salt and keeping

**Aims.** After this lesson you can

- say what water activity is, and why it, not the water content, decides who can grow;
- work out the water activity of a salted meat by hand, and set it beside the model and beside measured jerky;
- say why a moisture-protein ratio is no safety check, and how long dried meat keeps;
- write a sorption isotherm and dry a slice with it.

Time: two hours.

*A computed estimate: no measurement of your meat, no validated shelf life. Drying by itself does not make meat free of bacteria.*
"""

# %%
import numpy as np

import dryingsim as ds
from dryingsim.properties.water_activity import equilibrium_moisture, water_activity
from dryingsim.teaching import (
    keeping_days,
    lab_batch,
    lines,
    open_lesson,
    ready_hours,
    recipe_in,
    shared_table,
    sorption_law,
)

check = open_lesson("e_water_activity", globals())

# %% [markdown]
r"""
## 1. Predict first

Three batches of lean beef: without salt, with 15 g and with 40 g of salt per kg of raw meat, all dried to a water activity of 0.85. Which is ready
first? How many grams of water per gram of protein (MPR) does each hold then? "0.75 is jerky" is a common guess.
"""

# %% own
predicted_mpr = [0.75, 0.75, 0.75]

# %%
salts = "0 g/kg", "15 g/kg", "40 g/kg"
batches = [
    lab_batch(salt=salt, sugar="0 g/kg", duration="12 h", until={"water_activity": 0.85}) for salt in salts
]
recipes = [recipe_in(batch) for batch in batches]
activity = np.linspace(0.5, 0.97, 95)
mpr = [equilibrium_moisture(activity, 298.15, recipe) / recipe.protein for recipe in recipes]
lines(activity, dict(zip(salts, mpr, strict=True)), "water activity", "water per protein (kg/kg)")

# %% [markdown] task 1, read
r"""
At an MPR of 0.75, which water activity has the meat without salt, with 15 g/kg and with 40 g/kg (to 0.02)?
"""

# %% start 1
activities_at_075 = [..., ..., ...]

# %% answer 1
activities_at_075 = [0.94, 0.88, 0.77]

# %% check 1
read = [float(water_activity(0.75 * recipe.protein, 298.15, recipe)) for recipe in recipes]
near(activities_at_075, read, 0.02, "go across at 0.75 until you meet each line, then down")

# %% [markdown] task 2, read
r"""
Below a water activity of 0.75 the three lines run together. Why?

- a: the protein is saturated with salt
- b: saturated brine stands at 0.753: below, the salt has crystallised and holds no water
- c: below 0.75 there is no water left
"""

# %% start 2
why_together = ...

# %% answer 2
why_together = "b"

# %% check 2
chosen(
    why_together,
    "b",
    "which water activity stands over a saturated salt solution (`shared_table('saturated_salts')`)?",
)

# %% [markdown]
r"""
## 2. By hand: salt and protein

The water activity is the vapour pressure over the food, divided by that over pure water. For a brine of molality $m$ (mol of salt per kg of water)
it stands in tables (Robinson & Stokes). The meat with 15 g/kg is dried until 0.35 kg of water is left per kg of dry solid.
"""

# %%
brine = [(float(row["molality"]), float(row["activity_25C"])) for row in shared_table("sodium_chloride")]
molality, brine_activity = np.array(brine).T
salted, plain = recipes[1], recipes[0]
print(f"salt {salted.salt:.4f}, protein {salted.protein:.4f} kg per kg of dry solid")

# %% [markdown] task 3, reckon
r"""
*If all its water were the brine's*: what is the molality (a mol of salt is 0.05844 kg), and which water activity does the table give?
"""

# %% start 3
salt_molality, activity_of_brine = ..., ...

# %% answer 3
salt_molality = salted.salt / 0.05844 / 0.35
activity_of_brine = np.interp(salt_molality, molality, brine_activity)

# %% check 3
near(
    salt_molality,
    salted.salt / 0.05844 / 0.35,
    0.02,
    "mol of salt per kg dry solid over kg of water per kg dry solid",
)
near(
    activity_of_brine,
    np.interp(salted.salt / 0.05844 / 0.35, molality, brine_activity),
    0.005,
    "`np.interp(m, molality, brine_activity)`",
)

# %% [markdown]
r"""
But protein holds water too. Two ways to join them: a *product* of the two water activities, as if each had all the water; or **equal activity**: each
holds its own share at one common $a_w$, and the shares add up. The model does the second.
"""


# %%
def water_of_salt(a):
    return salted.salt / 0.05844 / np.interp(-a, -brine_activity, molality)


def water_of_protein(a):
    return float(equilibrium_moisture(a, 298.15, ds.Recipe(protein=salted.protein)))


water_of_salt(0.80), water_of_protein(0.80)

# %% [markdown] task 4, reckon
r"""
At 0.50 kg of water per kg of dry solid: find the common water activity at which salt and protein together hold it (to 0.003).
"""

# %% start 4
common_activity = ...

# %% answer 4
from scipy.optimize import brentq

common_activity = brentq(lambda a: water_of_salt(a) + water_of_protein(a) - 0.50, 0.76, 0.97)

# %% check 4
near(
    common_activity,
    float(water_activity(0.50, 298.15, salted)),
    0.006,
    "the shares do not add up to 0.50 there; halve the interval again",
)

# %% [markdown] note 4
r"""
The check is the package's own water activity: equal activity by hand and the model agree within 0.005.
"""

# %% [markdown] task 5, explain
r"""
The product of both water activities comes out higher than this; on measured jerky 0.04 too high, on the unsafe side. What is wrong with it in principle?

- a: the table of brine is for 25 °C
- b: it gives the whole water to both, so each is counted as more dilute than it is
- c: it forgets the sugar
"""

# %% start 5
why_wrong = ...

# %% answer 5
why_wrong = "b"

# %% check 5
chosen(why_wrong, "b", "how much water does the product let the salt have, and how much the protein?")

# %% [markdown]
r"""
## 3. Salt, drying time and keeping
"""

# %% [markdown] task 6, run
r"""
Run the three batches. After how many hours does each end (`history.time_s[-1]`), and at which MPR (`history.moisture_protein_ratio[-1]`)?
"""

# %% start 6
end_hours, end_mpr = [..., ..., ...], [..., ..., ...]

# %% answer 6
runs = [ds.run(batch) for batch in batches]
end_hours = [history.time_s[-1] / 3600 for history in runs]
end_mpr = [history.moisture_protein_ratio[-1] for history in runs]

# %% check 6
ended = once("ended", lambda: [ds.run(batch) for batch in batches])
near(
    end_hours, [history.time_s[-1] / 3600 for history in ended], 0.05, "in hours; in the order 0, 15, 40 g/kg"
)
near(end_mpr, [history.moisture_protein_ratio[-1] for history in ended], 0.02, "the last of each")

# %% [markdown] task 7, explain
r"""
Why is an MPR a mark of identity for a product with a fixed recipe, and no safety check?

- a: with another salt content the same ratio means another water activity
- b: protein cannot be measured well
- c: bacteria live on protein
"""

# %% start 7
why_no_check = ...

# %% answer 7
why_no_check = "a"

# %% check 7
chosen(why_no_check, "a", "look at your answers to task 1")

# %% [markdown] task 8, run
r"""
Dry the class's batch (15 g/kg) once to 0.85 and once to 0.75 (`until={"water_activity": 0.75}`, `duration="14 h"`). How many days does each keep in a
zip bag in the room? (`keeping_days(history)["room"]` gives days and the reason.)
"""

# %% start 8
days_085, days_075 = ..., ...

# %% answer 8
stored = [
    keeping_days(ds.run(lab_batch(duration="14 h", until={"water_activity": a})))["room"]
    for a in (0.85, 0.75)
]
days_085, days_075 = stored[0][0], stored[1][0]


# %% check 8
def room_days(activity):
    return keeping_days(ds.run(lab_batch(duration="14 h", until={"water_activity": activity})))["room"][0]


kept = once("kept", lambda: [room_days(0.85), room_days(0.75)])
near([days_085, days_075], kept, 0.5, "the first of the pair for `room`")

# %% [markdown] note 8
r"""
*Staphylococcus aureus* may grow above 0.83 (lowest published), and 0.85 is known to ±0.04: so 0.85 keeps for no day in the room. At 0.75 no bacterium grows
even so, and mould decides. Not known: fat that turns rancid, what is alive on the meat, acids, nitrite, smoke.
"""

# %% [markdown]
r"""
## 4. Against measured jerky

Semi-dried duck jerky (J. Anim. Sci. Technol. 62(4):553): 41.0 % water, 40.6 % protein, made with 1.2 g of salt and 2.0 g of sugar per 100 g of meat, which
we take to hold 20.5 % protein (from memory). Measured water activity: 0.911.
"""

# %% [markdown] task 9, reckon
r"""
Work out its recipe per kg of dry solid and its water activity at 298.15 K (`water_activity(X, T, ds.Recipe(protein=..., salt=..., sugar=...))`). By how much
does the model differ from the measurement (model less measured)?
"""

# %% start 9
difference = ...

# %% answer 9
protein = 0.406 / 0.59
duck = ds.Recipe(protein=protein, salt=protein * 0.012 / 0.205, sugar=protein * 0.020 / 0.205)
difference = float(water_activity(0.41 / 0.59, 298.15, duck)) - 0.911

# %% check 9
dry = 0.406 / 0.59
made = ds.Recipe(protein=dry, salt=dry * 0.012 / 0.205, sugar=dry * 0.020 / 0.205)
near(
    difference,
    float(water_activity(0.41 / 0.59, 298.15, made)) - 0.911,
    0.004,
    "dry solid is 59 %; salt and sugar go with the protein: 1.2 and 2.0 per 20.5",
)

# %% [markdown] note 9
r"""
Within the ±0.04 that the curve states of itself. A goat jerky with glycerol lies outside, and the package says that it does not know glycerol.
"""

# %% [markdown]
r"""
## 5. Write a model
"""

# %% [markdown] task 10, write
r"""
Write the GAB isotherm of unsalted protein, solved for the water activity. With $z = K\,a_w$ and $r = X_m/X$,

$$z = \frac{1}{\sqrt{h^2 + C - 1} - h},\quad h = \frac{C\,(1 - r) - 2}{2},\quad a_w = \min(z/K,\,1)$$

Take $X_m$ = 0.060 kg/kg, $C$ = 11, $K$ = 0.93. The check looks at its values and dries a slice with it.
"""


# %% start 10
def my_water_activity(T, X):
    return ...


# %% answer 10
def my_water_activity(T, X):
    half = (11 * (1 - 0.060 / X) - 2) / 2
    return np.minimum(1 / (np.sqrt(half**2 + 10) - half) / 0.93, 1.0)


# %% check 10
def moisture(a):
    z = 0.93 * a
    return 0.060 * 11 * z / ((1 - z) * (1 - z + 11 * z))


for a in (0.2, 0.6, 0.9):
    near(
        my_water_activity(298.15, moisture(a)),
        a,
        1e-6,
        f"put {moisture(a):.4f} kg/kg in: {a} should come out",
    )
near(my_water_activity(298.15, 4.0), 1.0, 0, "where the equation passes 1, give 1")
dried = ready_hours(
    ds.run(lab_batch(duration="12 h"), components=ds.Components(sorption=sorption_law(my_water_activity)))
)[0]
holds(
    dried > once("ready", lambda: ready_hours(ds.run(lab_batch()))[0]),
    "unsalted protein takes longer to come down to 0.85 than the class's salted meat",
)

# %% [markdown]
r"""
## 6. Where the model fails, and your own data

No isotherm of beef with all its parameters could be read: take every water activity of dried meat as known to ±0.04. A humidity sensor in a small jar half full
of your dried meat, read next day, measures it (keep the sensor off the meat). Grams raw without salt, salt taken up, grams dried:
"""

# %% own
own_raw_g, own_dried_g, own_salt = 100.0, 40.0, "15 g/kg"

# %%
own = recipe_in(lab_batch(salt=own_salt, sugar="0 g/kg"))
own_moisture = own_dried_g / (own_raw_g * 0.2315 / own.protein) - 1  # 23.15 % of raw eye of round is protein
print(
    f"{own_moisture:.2f} kg/kg: water activity {float(water_activity(own_moisture, 298.15, own)):.2f} ± 0.04"
)

# %% [markdown]
r"""
**Sources.** Robinson & Stokes, Electrolyte Solutions (1959). Greenspan (1977), J. Res. NBS 81A:89. Measured jerkies: `shared/jerky_measured.csv`. Eye of round: USDA
SR28 23360. Limits of growth, each with its source: `validation/theory.md`.
"""
