"""How far the sorption curve is off, by kind of product: measured pairs of moisture and water activity.

Of a *known recipe* are the twelve rows of `validation.physics.water_activity` (beef, duck, goat; the goat's glycerol counted).
Of an *unknown recipe*, sliced or formed, are products whose salt nobody read: the starting file's is taken, as a person would
who does not know better. With *humectants* are products with glycerol or sorbitol, which the curve does not know: what it
says of them without is compared (the goat once more, so).
"""

from dataclasses import dataclass

import numpy as np
from scipy.stats import t as student

from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.properties.water_activity import Recipe, water_activity
from validation.data import table
from validation.physics import water_activity as measured

ROOM_K = 298.15
WORDS = {
    "known": "whole muscle (and restructured duck) of known recipe",
    "unknown": "whole muscle, recipe not read",
    "formed": "formed meat, recipe not read",
    "no_recipe": "the two before together",
    "glycerol": "with glycerol or sorbitol",
}


@dataclass(frozen=True)
class Pair:
    """A measured water activity and the curve's at the measured moisture."""

    kind: str
    study: str
    product: str
    moisture_db: float
    measured: float
    curve: float

    @property
    def error(self) -> float:
        """Curve minus measured."""
        return self.curve - self.measured


@dataclass(frozen=True)
class KindError:
    """Errors of a kind of product.

    Attributes
    ----------
    mean, rms : float
        Of curve minus measured [-].
    half_width_90 : float
        Student's t with as many degrees of freedom as there are studies (rows of one study err together), times rms;
        of one or two studies the largest error, which is no more than a lower limit.
    within : float
        Share of the rows within 0.04.
    """

    kind: str
    rows: int
    studies: int
    mean: float
    rms: float
    half_width_90: float
    within: float
    largest: float


def pairs() -> list[Pair]:
    """All pairs."""
    out = []
    for study, rows, function in (
        ("duck", measured.DUCK, measured.duck),
        ("goat", measured.GOAT, measured.goat),
        ("Novi Sad", measured.BEEF, measured.beef),
    ):
        for row, value in zip(rows, function(True), strict=True):
            wet = float(row["moisture_percent"]) / 100.0
            out.append(
                Pair(
                    "known",
                    study,
                    row["reference"],
                    wet / (1.0 - wet),
                    float(row["water_activity"]),
                    float(value),
                )
            )
    return out + [_pair(row) for row in table("moisture_activity_pairs").rows] + _goat_without()


def _goat_without() -> list[Pair]:
    """Goat jerky as the package sees it: salt 12, sugar 25 g per kg of meat, its 30 g of glycerol unknown."""
    out, solids = [], 1.0 - 0.758 + 0.012 + 0.025
    recipe = Recipe(protein=measured.RAW_PROTEIN / solids, salt=0.012 / solids, sugar=0.025 / solids)
    for row in measured.GOAT:
        wet = float(row["moisture_percent"]) / 100.0
        moisture = wet / (1.0 - wet) * (solids + 0.030) / solids
        value = float(water_activity(moisture, ROOM_K, recipe))
        out.append(Pair("glycerol", "goat", row["reference"], moisture, float(row["water_activity"]), value))
    return out


def _pair(row: dict[str, str]) -> Pair:
    raw = all_cuts()[row["cut"]].composition
    salt, sugar, more = (1e-3 * float(row[name]) for name in ("salt_g_kg", "sugar_g_kg", "humectant_g_kg"))
    solids = 1.0 - raw.water + salt + sugar  # as the package counts, which knows no humectant
    recipe = Recipe(protein=raw.protein / solids, salt=salt / solids, sugar=sugar / solids)
    moisture = float(row["moisture_db"]) * (recipe.protein if row["ratio"] else 1.0)
    moisture *= (solids + more) / solids if more else 1.0  # the water, over the solids the package knows of
    value = float(water_activity(moisture, ROOM_K, recipe))
    return Pair(row["kind"], row["study"], row["product"], moisture, float(row["water_activity"]), value)


def kind_error(kind: str, of: list[Pair]) -> KindError:
    """Summary of the pairs of a kind."""
    kinds = ("unknown", "formed") if kind == "no_recipe" else (kind,)
    errors = np.array([pair.error for pair in of if pair.kind in kinds])
    studies = len({pair.study for pair in of if pair.kind in kinds})
    rms = float(np.sqrt(np.mean(errors**2)))
    return KindError(
        kind=kind,
        rows=errors.size,
        studies=studies,
        mean=float(errors.mean()),
        rms=rms,
        half_width_90=float(student.ppf(0.95, studies)) * rms if studies > 2 else float(np.abs(errors).max()),
        within=float(np.mean(np.abs(errors) <= 0.04)),
        largest=float(errors[np.abs(errors).argmax()]),
    )


def kind_errors() -> list[KindError]:
    """Of all kinds."""
    of = pairs()
    return [kind_error(kind, of) for kind in WORDS]
