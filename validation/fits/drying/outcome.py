"""The fit from its evidence to all that its page tells."""

import ast
import hashlib
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import dryingsim
from dryingsim.properties.diffusivity import LEAN_MEAT
from validation.data import SHARED
from validation.fits.drying import activity_errors, emulator, evidence, simulation, slopes
from validation.fits.drying.emulator import Emulator
from validation.fits.drying.evidence import Row, Run
from validation.fits.drying.likelihood import studies_of
from validation.fits.drying.posterior import Choice, Fit, Posterior
from validation.fits.drying.prediction import Prediction, predicted, predictions

HERE = Path(__file__).resolve().parent
TABLES, PAGE = HERE / "tables.npz", HERE / "report.md"
PACKAGE = Path(dryingsim.__file__).resolve().parent
RESULT = PACKAGE / "batch" / "catalog" / "drying_evidence.toml"
CHECKPOINTS = HERE.parents[2] / "build" / "drying_fit"
FAMILIES = tuple(simulation.SHAPES)
DRAWS, DRAWS_TO_COMPARE = 4096, 2048

ONE_SLOPE = {"energy_above": "energy"}
ENERGY = {"energy": LEAN_MEAT.activation_energy_J_mol, **ONE_SLOPE}
SHAPE = {"shape": float(np.log(LEAN_MEAT.half_moisture_db))}
COMPARED = {  # what is tried, each against the first
    "the present constants": Choice(evidence="times", fixed={"level": 0.0, **SHAPE, **ENERGY}),
    "level fitted": Choice(evidence="times", fixed={**SHAPE, **ENERGY}),
    "level and energy": Choice(evidence="times", fixed={**SHAPE, **ONE_SLOPE}),
    "level and half moisture": Choice(evidence="times", fixed=ENERGY),
    "level, half moisture, energy": Choice(evidence="times", fixed=ONE_SLOPE),
    "the same, own slope above 60 degC": Choice(evidence="times"),
    "level, power of shrinkage, energy": Choice(evidence="times", family="power", fixed=ONE_SLOPE),
    "level, energy; constant with moisture": Choice(
        evidence="times", fixed={"shape": simulation.SHAPES["half"][0], **ONE_SLOPE}
    ),
    "level, energy; in proportion to X": Choice(
        evidence="times", fixed={"shape": simulation.SHAPES["half"][1], **ONE_SLOPE}
    ),
}
PRESENT = "the present constants"
POSTERIORS = {  # what is reported in full
    PRESENT: COMPARED[PRESENT],
    "times": Choice(evidence="times", fixed=ONE_SLOPE),
    "slopes": Choice(evidence="slopes", fixed=ONE_SLOPE),
    "both": Choice(evidence="both", fixed=ONE_SLOPE),
    "two energies": Choice(evidence="times"),
    "both, no offset": Choice(evidence="both", fixed={"offset": 0.0, **ONE_SLOPE}),
}


@dataclass(frozen=True)
class Outcome:
    """All that the report tells."""

    runs: dict[str, Run]
    rows: list[Row]
    emulators: dict[str, dict[str, Emulator]]
    scores: dict[
        str, tuple[float, float, float]
    ]  # of a law: sum, difference to the first, its standard error
    posteriors: dict[str, Posterior]
    predictions: dict[str, list[Prediction]]
    checks: list[Prediction]
    asked: list[slopes.Asked]
    causes: list[tuple[str, float]]
    activity: list[activity_errors.KindError]


def fingerprint() -> str:
    """Of everything the simulated answers depend on; remarks in the code do not count."""
    seen = hashlib.sha256()
    for name in ("drying_evidence", "drying_evidence_runs", "drying_experiments"):
        seen.update((SHARED / f"{name}.csv").read_bytes())
    code = [p for part in ("engine", "model", "kernels", "properties") for p in (PACKAGE / part).glob("*.py")]
    code += [HERE / "simulation.py", HERE / "laws.py", HERE / "evidence.py"]
    for path in sorted(code):
        seen.update(ast.dump(ast.parse(path.read_text(encoding="utf-8"))).encode())
    return seen.hexdigest()[:16]


def simulated(runs: dict[str, Run], rows: list[Row]) -> dict[str, dict[str, Emulator]]:
    """Polynomials of all families, from simulations that are kept."""
    out = {}
    for family in FAMILIES:
        with np.errstate(all="ignore"):  # a state that is never reached has no logarithm of a time
            design = simulation.simulate(list(runs.values()), rows, family, CHECKPOINTS / fingerprint())
        out[family] = emulator.fit(design, rows, runs, simulation.LAWS)
    return out


def stored(runs: dict[str, Run], rows: list[Row]) -> dict[str, dict[str, Emulator]]:
    """Polynomials of all families from the file."""
    out: dict[str, dict[str, Emulator]] = {}
    with np.load(TABLES) as data:
        for family in FAMILIES:
            own = {row.name: data[f"{family}/{row.name}"] for row in rows}
            out[family] = {
                row.name: Emulator(
                    emulator.terms(row, runs[row.run]), own[row.name][:-1], float(own[row.name][-1])
                )
                for row in rows
            }
    return out


def store(emulators: dict[str, dict[str, Emulator]]) -> None:
    """Write the polynomials: weights, then the error."""
    arrays = {
        f"{f}/{n}": np.append(e.weights, e.error) for f, own in emulators.items() for n, e in own.items()
    }
    np.savez_compressed(TABLES, **arrays)


def scored(
    rows: list[Row], runs: dict[str, Run], emulators: dict[str, dict[str, Emulator]], size: int
) -> dict:
    """Scores of the laws on studies left out."""
    out, first = {}, np.zeros(1)
    for name, choice in COMPARED.items():
        scores = Fit(choice, studies_of(rows, runs, emulators[choice.family])).sample(size).left_out_scores
        first = scores if not out else first
        gain = scores - first
        error = float(np.sqrt(gain.size) * gain.std(ddof=1))
        out[name] = float(scores.sum()), float(gain.sum()), error
    return out


def outcome(use_tables: bool, size: int = DRAWS, compare: int = DRAWS_TO_COMPARE) -> Outcome:
    """Do all stages."""
    runs, rows = evidence.runs(), evidence.rows()
    emulators = stored(runs, rows) if use_tables else simulated(runs, rows)
    fitted = [row for row in rows if row.use != "check"]
    studies = studies_of(fitted, runs, emulators["half"])
    posteriors = {name: Fit(choice, studies).sample(size) for name, choice in POSTERIORS.items()}
    found = {name: predictions(posterior) for name, posterior in posteriors.items()}
    checks = studies_of([row for row in rows if row.use == "check"], runs, emulators["half"])
    with np.errstate(all="ignore"):
        asked, causes = slopes.asked(fitted, runs), slopes.causes(fitted, runs)
    return Outcome(
        runs=runs,
        rows=rows,
        emulators=emulators,
        scores=scored(fitted, runs, emulators, compare),
        posteriors=posteriors,
        predictions=found,
        checks=[one for study in checks for one in predicted(posteriors["times"], study)],
        asked=asked,
        causes=causes,
        activity=activity_errors.kind_errors(),
    )
