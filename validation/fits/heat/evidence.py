"""Published decimal reduction times as rows of numbers; `shared/heat_resistance_evidence.csv` holds them with their sources."""

from dataclasses import dataclass

import numpy as np

from validation.data import table

RAW_ACTIVITY = 0.99
CENTRE_C = 60.0
FAT_CENTRE, FAT_SPAN = 10.0, 20.0  # per cent: the effect of fat is counted from the centre, per span
ORGANISMS = ("Salmonella", "E. coli", "L. monocytogenes", "S. aureus", "E. faecium")
FILE = "heat_resistance_evidence"


@dataclass(frozen=True, kw_only=True)
class DValue:
    """A D value, as log10 of minutes; of kind "ratio" the logarithm of D over that of the state compared."""

    name: str
    organism: str
    laboratory: str
    study: str
    matrix: str
    form: str
    fat: float  # (per cent - centre) / span; 0 where not printed
    cured: bool
    activity: float
    t: float  # degC above 60
    kind: str  # value, at_most, at_least, ratio
    log10_d: float
    compared: str
    status: str

    @property
    def compared_activity(self) -> float:
        """Water activity of the state compared; its own where the form is compared."""
        return self.activity if self.compared in ("", "ground") else float(self.compared)

    @property
    def wet(self) -> bool:
        """Whether it was measured in moist meat."""
        return self.activity >= 0.95 and self.kind != "ratio"


def _row(row: dict[str, str]) -> DValue:
    return DValue(
        name=row["id"],
        organism=row["organism"],
        laboratory=row["laboratory"],
        study=row["study"],
        matrix=row["matrix"],
        form=row["form"],
        fat=(float(row["fat_percent"]) - FAT_CENTRE) / FAT_SPAN if row["fat_percent"] else 0.0,
        cured=row["cured"] == "1",
        activity=float(row["water_activity"] or RAW_ACTIVITY),
        t=float(row["temperature_C"]) - CENTRE_C,
        kind=row["kind"],
        log10_d=float(np.log10(float(row["D_min"]))),
        compared=row["compared"],
        status=row["status"],
    )


def d_values() -> list[DValue]:
    """All rows that take part."""
    return [_row(row) for row in table(FILE).rows if row["use"] == "fit"]


def slow_heating() -> tuple[float, float]:
    """Return how far slow heating raises log10 D: mean, and standard deviation for a new study, of a few printed ratios."""
    ratios = [float(row["D_min"]) for row in table(FILE).rows if row["use"] == "slow heating"]
    logs = np.log10(ratios)
    return float(logs.mean()), float(logs.std(ddof=1) * np.sqrt(1.0 + 1.0 / logs.size))


def left_out() -> dict[str, int]:
    """How many rows take no part, by the reason."""
    reasons = [row["use"].removeprefix("out: ") for row in table(FILE).rows if row["use"].startswith("out: ")]
    return {reason: reasons.count(reason) for reason in dict.fromkeys(reasons)}
