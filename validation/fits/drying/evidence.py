"""Published drying as rows: what a paper states of its run, and when which state was reached."""

from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.catalog.cuts import all_cuts
from dryingsim.batch.schema import Batch, Marinade, Room, ThicknessClass
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.properties.water import saturation_pressure
from validation.data import table
from validation.drying.experiment_runs import START

ROOM = Room(temperature_K=21.0 + ZERO_CELSIUS, relative_humidity=0.45)


@dataclass(frozen=True)
class Stage:
    """Air of a stage: temperature [K], vapour pressure at its start and end [Pa], duration [h]."""

    air_K: float
    vapour_Pa: tuple[float, float]
    hours: float


@dataclass(frozen=True, kw_only=True)
class Run:
    """A published run; each `_sd` is the spread of what is not known of it (logarithmic but for kelvin and points)."""

    name: str
    study: str
    kind: str  # whole muscle, formed, cooked, fish and gel
    stages: tuple[Stage, ...]
    batch: Batch  # of the likeliest slice
    marinade: Marinade
    speed_m_s: float
    moisture_points: float  # water of the raw meat, per cent of its weight
    thickness_sd: float
    film_sd: float
    vapour_sd: float
    air_sd: float
    water_sd: float
    salt_sd: float
    status: str

    @property
    def hours(self) -> float:
        """Length of the published schedule."""
        return sum(stage.hours for stage in self.stages)


@dataclass(frozen=True, kw_only=True)
class Row:
    """An observation: a state reached after so many hours, or the slope of a curve as a diffusivity [m2/s]."""

    name: str
    run: str
    study: str
    quantity: str
    value: float
    value_sd: float
    low: float  # hours; minus infinity and infinity where an end is open
    high: float
    use: str
    citation: str
    status: str

    @property
    def slope(self) -> bool:
        """Whether it is an effective diffusivity rather than a time."""
        return self.quantity == "slope"

    @property
    def published(self) -> float:
        """The published time [h], or diffusivity [m2/s]; of a range the geometric middle."""
        if self.slope:
            return self.value
        ends = [end for end in (self.low, self.high) if np.isfinite(end)]
        return float(np.exp(np.mean(np.log(ends))))

    @property
    def rounding(self) -> float:
        """Standard deviation of the logarithm from the width of a printed range (even within it)."""
        if self.slope or not self.near:
            return 0.0
        return float(np.log(self.high / self.low) / np.sqrt(12.0))

    @property
    def near(self) -> bool:
        """Whether both ends are printed."""
        return self.slope or bool(np.isfinite(self.low) and np.isfinite(self.high))

    @property
    def timed(self) -> bool:
        """Whether it counts among the published times whose coverage is checked."""
        return self.use == "fit" and self.near and not self.slope


FILM_SD = (
    0.2  # of the logarithm: correlations hold to 25 % (two sd), and the length along the air is not read
)


def _stage(text: str) -> Stage:
    air, hours = text.split()
    celsius, _, humidity = air.partition("@")
    kelvin = float(celsius) + ZERO_CELSIUS
    if not humidity:
        room = ROOM.relative_humidity * float(saturation_pressure(ROOM.temperature_K))
        return Stage(kelvin, (room, room), float(hours))
    start, _, end = humidity.partition(">")
    full = float(saturation_pressure(kelvin)) / 100.0
    return Stage(kelvin, (full * float(start), full * float(end or start)), float(hours))


def _run(row: dict[str, str]) -> Run:
    cut = all_cuts()[row["cut"]].composition
    thickness = 1e-3 * float(row["thickness_mm"])
    meat = replace(
        START.meat,
        name=row["cut"],
        composition=cut,
        form=row["form"],
        classes=(ThicknessClass(thickness_m=thickness, share=1.0),),
        width_m=1e-3 * float(row["width_mm"]),
        length_m=1e-3 * float(row["length_mm"]),
    )
    added = float(row["water_added"] or 0.0)
    marinade = replace(START.marinade if row["marinated"] == "1" else Marinade(), water_kg_kg=added)
    return Run(
        name=row["run"],
        study=row["study"],
        kind=row["class"],
        stages=tuple(_stage(part) for part in row["stages"].split("; ")),
        batch=replace(START, name=row["run"], meat=meat, marinade=marinade, room=ROOM),
        marinade=marinade,
        speed_m_s=float(row["speed_m_s"]),
        moisture_points=float(row["water_percent"] or 100.0 * cut.water),
        thickness_sd=float(row["thickness_sd"]),
        film_sd=float(np.hypot(0.5 * float(row["speed_sd"]), FILM_SD)),  # a laminar film goes with the root
        vapour_sd=float(row["vapour_sd"]),
        air_sd=float(row["air_sd"]),
        water_sd=float(row["water_sd"]),
        salt_sd=float(row["salt_sd"]),
        status=row["status"],
    )


def runs() -> dict[str, Run]:
    """All runs by name."""
    return {row["run"]: _run(row) for row in table("drying_evidence_runs").rows}


def rows() -> list[Row]:
    """All observations."""
    printed = {row["id"]: row for row in table("drying_experiments").rows}
    studies = {row["run"]: row["study"] for row in table("drying_evidence_runs").rows}
    return [_row(row, printed.get(row["id"], {}), studies) for row in table("drying_evidence").rows]


def _row(row: dict[str, str], printed: dict[str, str], studies: dict[str, str]) -> Row:
    def cell(name: str) -> str:
        return row[name] or printed.get(name, "")

    quantity = cell("quantity")
    return Row(
        name=row["id"],
        run=cell("run"),
        study=studies[cell("run")],
        quantity=quantity,
        value=float(cell("value")),
        value_sd=float(row["value_sd"] or 0.0),
        low=float(cell("low_h") or "-inf"),
        high=float(cell("high_h") or "inf"),
        use=row["use"],
        citation=cell("citation"),
        status="; ".join(part for part in (printed.get("status", ""), row["status"]) if part),
    )
