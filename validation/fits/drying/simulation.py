"""The runs of the evidence through the package's many-slice engine, over a design of all that is uncertain.

A family of laws has three parameters: the shape, the energy, the energy above 60 degC. They are the same for a whole
call of the engine, so the design is nested: `LAWS` points of these three, each with `SLICES` slices of every run that
differ in level and in what the paper leaves open. All of it is even (Sobol), seeded, and does not depend on the data.
"""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from scipy.stats import qmc

from dryingsim.batch.schema import ThicknessClass
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.engine.air_history import AirHistory
from dryingsim.engine.ensemble import Request, run_ensemble
from dryingsim.engine.segments import Segment
from dryingsim.engine.slices import Slices, slabs_of
from dryingsim.model.air import slice_film
from dryingsim.model.build import moistened, recipe_of
from dryingsim.model.slab import OF_SLABS, Slabs, taken
from dryingsim.properties.diffusivity import Diffusivity
from dryingsim.properties.water import saturation_pressure
from dryingsim.properties.water_activity import Recipe, equilibrium_moisture
from validation.fits.drying.evidence import Row, Run
from validation.fits.drying.laws import law

HOUR = 3600.0
LAWS, SALTS, PER_SALT = 64, 4, 4
SLICES = SALTS * PER_SALT
NODES, TOLERANCE = 16, 2e-3  # the time to an end is within 1 % of 24 nodes at the usual tolerance
SEED = 20
LOADED_K = 277.15
REACH = 2.5  # the uncertain inputs are followed to so many standard deviations
END_REACH = 1.2  # and the end points, of which only the slope is used
SALT_Z = np.array([-2.0, -0.7, 0.7, 2.0])
GOES_ON = 40.0  # times the published length
# Ends of the design: logarithm of D_ref over the package's; shape; energies [J/mol].
LEVEL = (np.log(0.25), np.log(9.0))
SHAPES = {"half": (np.log(0.04), np.log(25.0)), "power": (-1.5, 3.0)}  # ln X_h; q
ENERGY, ENERGY_ABOVE = (10e3, 60e3), (0.0, 60e3)
KNOWNS = ("level", "shape", "energy", "energy_above")
UNKNOWNS = ("thickness", "film", "vapour", "air", "water", "salt", "end", "hidden")
HIDDEN = 0.08  # kg/kg: largest equilibrium moisture taken to hide in a printed moisture ratio


@dataclass(frozen=True)
class Design:
    """Points of a family: knowns and unknowns scaled to -1..1, the latter for every run; answers by row.

    Attributes
    ----------
    knowns : ndarray, shape (runs, points, 4)
    unknowns : ndarray, shape (runs, points, 8)
    answers : dict of ndarray, shape (points,)
        By the name of the row: logarithm of the hours, or of the slope [m2/s]; not a number where never reached.
    """

    knowns: np.ndarray
    unknowns: np.ndarray
    answers: dict[str, np.ndarray]


def _between(ends: tuple[float, float], scaled: np.ndarray) -> np.ndarray:
    return ends[0] + (ends[1] - ends[0]) * 0.5 * (1.0 + scaled)


def scaled(ends: tuple[float, float], value: np.ndarray | float) -> np.ndarray | float:
    """Place of a value between the ends of the design, -1..1."""
    return 2.0 * (value - ends[0]) / (ends[1] - ends[0]) - 1.0


def law_points(laws: int = LAWS) -> np.ndarray:
    """Shape and the two energies, scaled, shape (laws, 3)."""
    return 2.0 * qmc.Sobol(3, rng=SEED).random(laws) - 1.0


def slice_points(count: int, laws: int) -> np.ndarray:
    """Level and unknowns, scaled, shape (runs, laws, SALTS, PER_SALT, 9)."""
    points = [qmc.Sobol(9, rng=SEED + 1 + i).random(laws * SLICES) for i in range(count)]
    out = 2.0 * np.stack(points).reshape(count, laws, SALTS, PER_SALT, 9) - 1.0
    out[..., 1 + UNKNOWNS.index("salt")] = (SALT_Z / REACH)[:, None]
    return out


def simulate(runs: list[Run], rows: list[Row], family: str, folder: Path | None, laws: int = LAWS) -> Design:
    """Run the design of a family; finished laws are kept in `folder` and taken from there."""
    points, slices = law_points(laws), slice_points(len(runs), laws)
    slabs, recipes = _slabs(runs, slices)
    parts = []
    for i, point in enumerate(points):
        kept = folder / f"{family}_{i:03d}.npz" if folder else None
        if kept and kept.exists():
            with np.load(kept) as data:
                parts.append(dict(data))
            continue
        own = np.arange(len(runs) * SLICES) + i * len(runs) * SLICES
        part = _law(runs, rows, family, point, slices[:, i], taken(slabs, own), recipes)
        if kept:
            kept.parent.mkdir(parents=True, exist_ok=True)
            np.savez(kept, **part)
        parts.append(part)
    knowns = np.broadcast_to(points[None, :, None, :], (len(runs), laws, SLICES, 3))
    flat = slices.reshape(len(runs), laws, SLICES, 9)
    knowns = np.concatenate([flat[..., :1], knowns], axis=3).reshape(len(runs), -1, 4)
    answers = {row.name: np.concatenate([part[row.name] for part in parts]) for row in rows}
    return Design(knowns, flat[..., 1:].reshape(len(runs), -1, 8), answers)


def _spread(run: Run, points: np.ndarray, name: str) -> np.ndarray:
    """Offset of an unknown at scaled points [in the unit of the run's sd]."""
    return REACH * points[..., 1 + UNKNOWNS.index(name)] * getattr(run, f"{name}_sd")


def _slabs(runs: list[Run], slices: np.ndarray) -> tuple[Slabs, list[Recipe]]:
    """Slabs of all laws, law by law, run by run, salt by salt; their recipes."""
    batches = []
    for run, points in zip(runs, slices, strict=True):
        mm = run.batch.meat.classes[0].thickness_m * np.exp(_spread(run, points, "thickness"))
        for k, z in enumerate(SALT_Z):
            own = mm[:, k].reshape(-1).tolist()
            classes = tuple(ThicknessClass(thickness_m=t, share=1.0 / len(own)) for t in own)
            factor, meat = float(np.exp(z * run.salt_sd)), replace(run.batch.meat, classes=classes)
            salted = replace(
                run.marinade,
                salt_kg_kg=run.marinade.salt_kg_kg * factor,
                sugar_kg_kg=run.marinade.sugar_kg_kg * factor,
            )
            batches.append(replace(run.batch, meat=meat, marinade=salted))
    kinds, table, row = slabs_of(batches, NODES)
    shape = (len(runs), SALTS, slices.shape[1], PER_SALT)

    def whole(name: str) -> np.ndarray:
        values = np.stack(
            [getattr(one, name) for one in kinds], axis=-2
        )  # (..., runs * salts, laws * slices)
        values = values.reshape(*values.shape[:-2], *shape)
        return np.moveaxis(values, -2, -4).reshape(*values.shape[:-4], -1)

    slabs = replace(kinds[0], **{name: whole(name) for name in OF_SLABS})
    number = np.broadcast_to(row.reshape(len(runs), SALTS, 1, 1), shape)
    number = np.moveaxis(number, -2, 0).reshape(-1)
    slabs = replace(slabs, sorption=table, recipe=number)
    recipes = [recipe_of(batches[int(np.flatnonzero(row == k)[0])])[0] for k in range(int(row.max()) + 1)]
    return _moistened(runs, slices, slabs), recipes


def _moistened(runs: list[Run], slices: np.ndarray, slabs: Slabs) -> Slabs:
    """Give every slice its own start moisture, its thickness kept, and its level of diffusivity."""
    water = np.stack([_spread(run, p, "water") for run, p in zip(runs, slices, strict=True)])
    water = np.stack([run.moisture_points + w for run, w in zip(runs, water, strict=True)]) / 100.0
    raw = np.array([run.batch.meat.composition.water for run in runs])[:, None, None, None]
    water, raw = (np.swapaxes(np.broadcast_to(v, water.shape), 0, 1).reshape(-1) for v in (water, raw))
    moisture = slabs.initial_moisture_db * (water / (1.0 - water)) * (1.0 - raw) / raw
    level = np.exp(np.swapaxes(_between(LEVEL, slices[..., 0]), 0, 1).reshape(-1))
    return replace(moistened(slabs, moisture), diffusivity_factor=level)


def _law(
    runs: list[Run],
    rows: list[Row],
    family: str,
    point: np.ndarray,
    slices: np.ndarray,
    slabs: Slabs,
    recipes: list[Recipe],
) -> dict[str, np.ndarray]:
    shape = float(_between(SHAPES[family], point[0]))
    half, power = (float(np.exp(shape)), 0.0) if family == "half" else (0.0, shape)
    energies = float(_between(ENERGY, point[1])), float(_between(ENERGY_ABOVE, point[2]))
    slabs = replace(slabs, diffusivity=law(half, power, *energies))
    return _answers(runs, rows, slices.reshape(len(runs), SLICES, -1), slabs, recipes)


def _answers(
    runs: list[Run],
    rows: list[Row],
    flat: np.ndarray,
    slabs: Slabs,
    recipes: list[Recipe],
    faster: float = 1.0,
) -> dict[str, np.ndarray]:
    segments, ends = _segments(runs, flat)
    times = np.concatenate([[0.0], np.geomspace(120.0, ends.max(), 420)])
    film = np.exp(np.stack([_spread(run, p, "film") for run, p in zip(runs, flat, strict=True)])).reshape(-1)
    slices_ = Slices(slabs, np.arange(film.size), faster * film)
    request = Request(temperature_K=LOADED_K, times_s=times, tolerance=TOLERANCE)
    moisture = run_ensemble(slices_, segments, request)["series_moisture_db"]
    place = {run.name: i for i, run in enumerate(runs)}
    out = {}
    for row in rows:
        i = place[row.run]
        own = slice(i * SLICES, (i + 1) * SLICES)
        reading = Reading(times, moisture[:, own], taken(slabs, own), recipes, flat[i])
        out[row.name] = reading.slope(row, runs[i]) if row.slope else reading.log_hours(row)
    return out


def likeliest(
    runs: list[Run], rows: list[Row], shaped_law: Diffusivity, levels: np.ndarray, film: float = 1.0
) -> dict[str, np.ndarray]:
    """Answers at the likeliest value of all unknowns for SLICES levels [factor on the law], by row."""
    slices = np.zeros((len(runs), 1, SALTS, PER_SALT, 9))
    batch_free = [replace(run, salt_sd=0.0) for run in runs]
    slabs, recipes = _slabs(batch_free, slices)
    slabs = replace(slabs, diffusivity=shaped_law, diffusivity_factor=np.tile(levels, len(runs)))
    return _answers(batch_free, rows, slices.reshape(len(runs), SLICES, -1), slabs, recipes, film)


def _segments(runs: list[Run], slices: np.ndarray) -> tuple[tuple[Segment, ...], np.ndarray]:
    """As many segments as the longest schedule has stages, one column per slice; short schedules begin later."""
    most = max(len(run.stages) for run in runs)
    ones = np.ones(SLICES)
    segments, start = [], np.zeros(len(runs) * SLICES)
    for k in range(most):
        stages = [
            run.stages[k - most + len(run.stages)] if k >= most - len(run.stages) else None for run in runs
        ]
        spans = [(s.hours * HOUR if s else 0.0) for s in stages]
        if k == most - 1:
            spans = [span + GOES_ON * run.hours * HOUR for span, run in zip(spans, runs, strict=True)]
        end = start + np.concatenate([span * ones for span in spans])
        segments.append(
            Segment(start, end, _air_history(runs, stages, slices), k - 1, False, dries=True, lethal=False)
        )
        start = end
    return tuple(segments), start


def _air_history(runs: list[Run], stages: list, slices: np.ndarray) -> AirHistory:
    ramps = sorted({s.hours * HOUR for s in stages if s and s.vapour_Pa[0] != s.vapour_Pa[1]})
    times = np.array([0.0, *ramps])
    air, vapour, speed, sizes = [], [], [], []
    for run, stage, points in zip(runs, stages, slices, strict=True):
        stage = stage or run.stages[0]
        kelvin = stage.air_K + _spread(run, points, "air")
        share = np.minimum(times / (stage.hours * HOUR), 1.0)[:, None]
        pressure = stage.vapour_Pa[0] + share * (stage.vapour_Pa[1] - stage.vapour_Pa[0])
        air.append(kelvin)
        vapour.append(pressure * np.exp(_spread(run, points, "vapour")))
        speed.append(np.full(kelvin.size, run.speed_m_s))
        sizes.append(np.tile([[run.batch.meat.length_m], [run.batch.meat.width_m]], kelvin.size))
    kelvin, pressure = np.concatenate(air), np.concatenate(vapour, axis=1)
    pressure = np.minimum(pressure, 0.98 * saturation_pressure(kelvin))
    size = np.concatenate(sizes, axis=1)
    film = slice_film(kelvin, pressure.mean(axis=0), STANDARD_PRESSURE, np.concatenate(speed), *size)
    still = np.broadcast_to(kelvin, pressure.shape)
    return AirHistory(
        time_s=times,
        temperature_K=still,
        vapour_fraction=pressure / STANDARD_PRESSURE,
        wall_K=np.stack([still, still], axis=1),
        view=np.ones((2, kelvin.size)),
        pressure_Pa=np.full(kelvin.size, STANDARD_PRESSURE),
        film=film,
    )


@dataclass(frozen=True)
class Reading:
    """Drying curves of one run's slices, read as its paper reads them."""

    times: np.ndarray
    moisture: np.ndarray  # (times, slices)
    slabs: Slabs
    recipes: list[Recipe]
    points: np.ndarray

    def _end(self, row: Row) -> np.ndarray:
        """What the row's end point is off by, in its own unit."""
        return END_REACH * self.points[:, 1 + UNKNOWNS.index("end")] * row.value_sd

    def _hidden(self) -> np.ndarray:
        return 0.5 * (1.0 + self.points[:, 1 + UNKNOWNS.index("hidden")])

    def _recipe(self) -> Recipe:
        parts = [
            np.array([getattr(self.recipes[k], name) for k in self.slabs.recipe])
            for name in ("protein", "salt", "sugar")
        ]
        return Recipe(*parts)

    def equilibrium(self, run: Run) -> np.ndarray:
        """Moisture [kg/kg] in equilibrium with the air of the run's last stage."""
        stage = run.stages[-1]
        kelvin = stage.air_K + _spread(run, self.points, "air")
        vapour = stage.vapour_Pa[1] * np.exp(_spread(run, self.points, "vapour"))
        activity = np.minimum(vapour / saturation_pressure(kelvin), 0.8)
        return equilibrium_moisture(activity, kelvin, self._recipe())

    def target(self, row: Row) -> np.ndarray:
        """Mean moisture [kg/kg] of the published state."""
        start, value = self.slabs.initial_moisture_db, row.value + self._end(row)
        if row.quantity == "aw":
            activity = np.clip(value, 0.3, 0.985)
            return equilibrium_moisture(activity, 298.15, self._recipe())
        if row.quantity == "mr":
            hidden = HIDDEN * self._hidden()
            return hidden + row.value * (start - hidden)
        return {
            "wb": lambda: value / (100.0 - value),
            "db": lambda: value,
            "yield": lambda: 0.01 * value * (1.0 + start) - 1.0,
            "loss": lambda: (1.0 - 0.01 * value) * (1.0 + start) - 1.0,
            "mpr": lambda: value * self._recipe().protein,
        }[row.quantity]()

    def log_hours(self, row: Row) -> np.ndarray:
        """Logarithm of the hours to the published state."""
        return np.log(self.reached(self.target(row)) / HOUR)

    def reached(self, target: np.ndarray) -> np.ndarray:
        """Time [s] at which the mean moisture is down to a target; not a number if never."""
        below = self.moisture <= target
        there = below.any(axis=0) & ~below[0]  # what begins drier than published is no such run
        i = np.maximum(below.argmax(axis=0), 1)
        column = np.arange(target.size)
        high, low = self.moisture[i - 1, column], self.moisture[i, column]
        share = np.clip((high - target) / np.maximum(high - low, 1e-12), 0.0, 1.0)
        early, late = self.times[i - 1], self.times[i]
        return np.where(there, early + share * (late - early), np.nan)

    def slope(self, row: Row, run: Run) -> np.ndarray:
        """Logarithm of the diffusivity [m2/s] read off as usual: ln of the moisture ratio over time, thickness constant.

        The curve is followed down to a ratio with readings evenly in time; of the equilibrium moisture a share
        between none and all is taken off, as papers do the one or the other.
        """
        ratio = row.low * np.exp(END_REACH * self.points[:, 1 + UNKNOWNS.index("end")] * row.high)
        start, dry = self.slabs.initial_moisture_db, self._hidden() * self.equilibrium(run)
        stop = self.reached(dry + ratio * (start - dry))
        out = np.full(start.size, np.nan)
        half = 0.5 * self.slabs.thickness(start)
        for j in np.flatnonzero(np.isfinite(stop)):
            t = np.linspace(0.0, stop[j], 21)
            x = np.interp(t, self.times, self.moisture[:, j])
            fall = np.polyfit(t, np.log((x - dry[j]) / (start[j] - dry[j])), 1)[0]
            out[j] = np.log(-fall * 4.0 * half[j] ** 2 / np.pi**2)
        return out
