"""Why published diffusivities and published times seem to contradict each other.

A published diffusivity is the slope of a curve. Simulated curves are read in the same way, which shows what a slope makes
of the diffusivity put in, which share of that each cause has, and how large a slope can be at all: a slab that dries as
fast as the air can take its water reads as a finite diffusivity, whatever its own.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.properties.diffusivity import LEAN_MEAT
from validation.fits.drying.evidence import Row, Run
from validation.fits.drying.laws import ShapedLaw, law
from validation.fits.drying.simulation import SLICES, likeliest

EXAMPLE = "D06"  # beef at 60 degC, 1 m/s, 5 mm: the air's temperature is the law's own reference
FREELY = 1e3  # factor on the diffusivity that leaves the film alone in charge
FULL_THICKNESS = 4.0  # of the square: full in place of half thickness


def present(
    half: float = LEAN_MEAT.half_moisture_db, energy: float = LEAN_MEAT.activation_energy_J_mol
) -> ShapedLaw:
    """The package's law, or with another half moisture or energy."""
    return law(half, 0.0, energy, energy)


@dataclass(frozen=True)
class Asked:
    """A published slope [m2/s], the one the present law gives, the largest there can be, and D_ref asked for."""

    row: Row
    present: float
    largest: float
    asked: float  # infinite where no diffusivity gives the slope
    asked_by_full: float  # if the full thickness stood in the formula


def asked(rows: list[Row], runs: dict[str, Run]) -> list[Asked]:
    """Of every slope, at the likeliest thickness, speed and humidity."""
    slopes = [row for row in rows if row.slope]
    own = [runs[name] for name in dict.fromkeys(row.run for row in slopes)]
    levels = np.append(np.geomspace(0.2, 30.0, SLICES - 1), FREELY)
    read = likeliest(own, slopes, present(), levels)
    out = []
    for row in slopes:
        reading = read[row.name]
        there = np.isfinite(reading)

        def level(value: float, reading: np.ndarray = reading, there: np.ndarray = there) -> float:
            if np.log(value) > reading[-1]:
                return np.inf
            found = np.interp(np.log(value), reading[there], np.log(levels[there]))
            return float(np.exp(found) * LEAN_MEAT.reference_m2_s)

        usual = float(np.exp(np.interp(0.0, np.log(levels[there]), reading[there])))
        full = level(row.value / FULL_THICKNESS)
        out.append(Asked(row, usual, float(np.exp(reading[-1])), level(row.value), full))
    return out


def causes(rows: list[Row], runs: dict[str, Run]) -> list[tuple[str, float]]:
    """Slope over the diffusivity put in (at 60 degC, X = 1), with causes taken away one after the other."""
    row = [row for row in rows if row.name == EXAMPLE]
    own, ones = [runs[row[0].run]], np.ones(SLICES)
    steps = [
        ("as it is", present(), 1.0),
        ("without cooling by evaporation (diffusivity at the air's temperature)", present(energy=0.0), 1.0),
        ("and without a film (30 times the coefficients)", present(energy=0.0), 30.0),
        ("and without the fall at low moisture", present(half=1e-9, energy=0.0), 30.0),
    ]
    return [
        (name, float(np.exp(likeliest(own, row, one, ones, film)[EXAMPLE][0])) / LEAN_MEAT.reference_m2_s)
        for name, one, film in steps
    ]
