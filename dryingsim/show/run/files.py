"""Results as files: `history.csv` and `summary.json` in SI, and pictures of drying and of log reductions.

For a batch in an appliance also of its trays. The same run writes the same bytes: no dates, no random marks. Each
file is written beside its place and then renamed, so that nobody ever sees half of one.
"""

import io
import json
from collections.abc import Callable, Sequence
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dryingsim.batch.schema import ThicknessClass
from dryingsim.errors import InputError
from dryingsim.history import History
from dryingsim.history.columns import history_columns
from dryingsim.history.provenance import inputs_of, versions
from dryingsim.judge.decline import ORGANISM as DECLINES
from dryingsim.judge.doneness import Answers
from dryingsim.judge.energy import Price, judge_energy
from dryingsim.judge.federal_table import TableCompliance
from dryingsim.judge.grades import ESTIMATES, Lethality, OrganismLethality
from dryingsim.judge.growth import OrganismGrowth
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.serving import serving_of
from dryingsim.judge.texture import half_hour_more, texture_window
from dryingsim.judge.trays import judge_trays
from dryingsim.judge.verdict import judge_batch_lethality, judge_taken_out
from dryingsim.judge.yield_and_cost import Yield, judge_yield
from dryingsim.kitchen.marinade import marinated_batch
from dryingsim.show.core.atomic_write import write_set, write_whole
from dryingsim.show.core.csv_text import csv_text
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.kitchen.marinade_text import marinade_data
from dryingsim.show.kitchen.serving_words import serving_values
from dryingsim.show.lethality.federal_words import table_cautions, table_reason
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.remedy_words import CHANGES
from dryingsim.show.lethality.words import CAUTIONS, MEANINGS, home_advice, places, reason

if TYPE_CHECKING:
    from matplotlib.figure import Figure

DATA_FILES = ("history.csv", "summary.json")
PICTURE_FILES = ("drying.png", "drying.svg")
LETHALITY_FILES = ("lethality.png", "lethality.svg")
TRAY_FILES = ("trays.png", "trays.svg")
_DPI = 110  # 1100 x 704 dots


def prepare_directory(directory: Path) -> None:
    """Make the directory if it is missing; raise `InputError` unless files can be written there."""
    try:
        directory.mkdir(parents=True, exist_ok=True)
        write_whole(directory / "history.csv", None)
    except FileExistsError:
        raise InputError(f"{directory} is a file; a folder for the results is expected") from None
    except OSError as error:
        raise InputError(f"{directory} cannot be written to ({error.strerror or error})") from None


def write_results(
    history: History,
    answers: Answers,
    directory: Path,
    units: str | None = None,
    price: Price | None = None,
    remedies: Sequence[Remedy] | None = None,
    product: Yield | None = None,
) -> list[Path]:
    """Write the data and the pictures, all or none; files of the same names are replaced.

    Pictures of trays that an earlier run left in the directory are removed if this batch has no appliance: beside
    the new results they would be taken for theirs.

    Parameters
    ----------
    history : History
    answers : Answers
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the pictures; as the batch file says if left out.
    price : Price, optional
        Of the energy, for the summary.
    remedies : sequence of Remedy, optional
        As `dryingsim.judge.remedies.remedies` gives them, for the summary.
    product : Yield, optional
        With what was paid, for the summary; without costs if left out.

    Returns
    -------
    list of Path
        The files written.
    """
    directory = Path(directory)
    prepare_directory(directory)
    texts = (history_csv(history), summary_json(history, answers, price, remedies, product))
    contents = {name: text.encode("utf-8") for name, text in zip(DATA_FILES, texts, strict=True)}
    from dryingsim.show.run import pictures as plots  # slow to import, so only where a picture is drawn

    sheets = [
        (PICTURE_FILES, lambda: plots.figure(history, answers, units)),
        (LETHALITY_FILES, lambda: plots.lethality_figure(history, units)),
    ]
    if history.chamber is not None:
        sheets.append((TRAY_FILES, lambda: plots.tray_figure(history, units)))
    for names, draw in sheets:
        contents |= zip(names, pictures(draw), strict=True)
    return write_set(directory, contents, gone=TRAY_FILES)


def history_csv(history: History) -> str:
    """Return one line per recorded time, the columns as `dryingsim.history.columns` names them."""
    columns = history_columns(history)
    formats = ["d" if np.issubdtype(values.dtype, np.integer) else ".10g" for values in columns.values()]
    rows = zip(*columns.values(), strict=True)
    return csv_text(
        columns, ([format(value, how) for value, how in zip(row, formats, strict=True)] for row in rows)
    )


def summary(
    history: History,
    answers: Answers,
    price: Price | None = None,
    remedies: Sequence[Remedy] | None = None,
    product: Yield | None = None,
) -> dict[str, Any]:
    """Return the answers of a run as plain values in SI, null where something was not reached.

    Keys
    ----
    batch : title of the batch.
    caution : what the numbers are not, and what to do.
    done : `Doneness` (see dryingsim.judge.doneness) with its windows and the weight to `stop` at (done_window, stop_weight);
        each of `classes` with its raw `thickness_m`.
    heating : `Heating` (likewise): the coldest spot of the meat against its air.
    trays : `Trays` (see dryingsim.judge.trays), and the `appliance` by name; null in given air.
    energy : `Energy` (see dryingsim.judge.energy); null in given air.
    lethality : of the whole plan: `grade` and what it means, the organism that `limits`, where bacteria are taken to
        sit; each of `organisms` (see `OrganismLethality` in dryingsim.judge.grades) with its `least_reduced_place`, trays
        counted from 1; `growth` (see `OrganismGrowth` in dryingsim.judge.growth), `federal_table`,
        `home_advice`, and the `cautions`. Hardly anybody counts more than seven: beyond 7 log10 it is given as 7.
    taken_out : the same `lethality` of meat taken out when it is done, and when that is, `done_s`; null where it is not
        done, or the plan is about over by then.
    remedies : changes to the batch, each simulated (see dryingsim.judge.remedies); null unless they were asked for.
    texture : `TextureWindows` (see dryingsim.judge.texture) of the batch, its classes and its trays, and `half_hour_more`
        (likewise), from when the batch is done or the run ends.
    yield : `Yield` (see dryingsim.judge.yield_and_cost); its cost null unless something was paid.
    marinade : what the batch's own ingredients come to, as `dryingsim marinate --json` tells it; null without them.
    serving : `Serving` of the finished product (see dryingsim.judge.serving), `of_kg`; how salty and how sweet.
    stages : name and end of each stage, `end_s`.
    end : the last record: `time_s`, `weight_kg`, `weight_loss`, `moisture_db`, `moisture_protein_ratio`, and
        `water_activity` of the wettest slices, evened out.
    closure : largest relative miss of the `water` and the `energy` balance of the slices, and of the
        `appliance_water` and the `appliance_energy`, null in given air.
    solver : counts of the work done, and `nodes` across a slice.
    inputs : the batch as the text of its file; null where no file says the same, as with what was learned from logs.
    versions : of the programs that computed this.
    """
    stages = zip(history.batch.stages, history.stage_end_s, strict=True)
    trays, energy = judge_trays(history), judge_energy(history, answers, price)
    taken_out = judge_taken_out(history)
    appliance, chamber = history.batch.appliance, history.chamber
    finished = product or judge_yield(history, answers)
    marinated = marinated_batch(history.batch)
    return {
        "batch": history.batch.name,
        "caution": CAUTION,
        "done": _done(history, answers),
        "heating": asdict(answers.heating),
        "trays": {"appliance": appliance.name, **asdict(trays)} if trays and appliance else None,
        "energy": asdict(energy) if energy else None,
        "lethality": _lethality(judge_batch_lethality(history)),
        "taken_out": {"done_s": taken_out[0], "lethality": _lethality(taken_out[1])} if taken_out else None,
        "remedies": None if remedies is None else [_remedy(one) for one in remedies[1:]],
        "texture": _texture(history, answers),
        "yield": asdict(finished),
        "marinade": marinade_data(marinated) if marinated else None,
        "serving": serving_values(
            serving_of(history.batch.meat.composition, history.batch.marinade, finished.share)
        ),
        "stages": [{"name": stage.name, "end_s": float(end)} for stage, end in stages],
        "end": {
            "time_s": float(history.time_s[-1]),
            "weight_kg": float(history.weight_kg[-1].sum()),
            "weight_loss": float(history.weight_loss[-1]),
            "moisture_db": float(history.batch_moisture_db[-1]),
            "moisture_protein_ratio": float(history.moisture_protein_ratio[-1]),
            "water_activity": float(history.equalised_water_activity[-1].max()),
        },
        "closure": {
            "water": history.water_closure,
            "energy": history.energy_closure,
            "appliance_water": chamber.water_closure if chamber else None,
            "appliance_energy": chamber.energy_closure if chamber else None,
        },
        "solver": {"nodes": history.slabs.nodes.size, **asdict(history.statistics)},
        "inputs": inputs_of(history.batch),
        "versions": versions(),
    }


def _done(history: History, answers: Answers) -> dict[str, Any]:
    done = asdict(answers.doneness)
    pairs = zip(history.batch.meat.classes, done["classes"], strict=True)
    return done | {"classes": [{**_class(one), **window} for one, window in pairs]}


def _class(one: ThicknessClass) -> dict[str, Any]:
    """Return what tells a class from others; how it lies only where that is not flat."""
    return {"thickness_m": one.thickness_m} | ({} if one.lies == "flat" else {"lies": one.lies})


def _texture(history: History, answers: Answers) -> dict[str, Any]:
    done = answers.doneness.batch.expected_s
    more = half_hour_more(history, float(history.time_s[-1]) if done is None else done)
    return asdict(texture_window(history)) | {"half_hour_more": asdict(more)}


def _lethality(judged: Lethality) -> dict[str, Any]:
    advice = judged.advice
    return {
        "grade": judged.grade,
        "meaning": MEANINGS[judged.grade],
        "warnings": [sentence(one) for one in judged.warnings],
        "limits": judged.worst.organism,
        "form": judged.form,
        "species": judged.species,
        "places": places(judged.form),
        "organisms": [
            organism_values(one) | {"least_reduced_place": _worst_place(judged, one)}
            for one in judged.organisms
        ],
        "growth": [growth_values(judged, one) for one in judged.growth],
        "without_heat": {"organism": DECLINES, "best": min(judged.without_heat, COUNTABLE)},
        "federal_table": table_values(judged.table) if judged.table else None,
        "home_advice": asdict(advice) | {"text": home_advice(advice)} if advice else None,
        "cautions": list(CAUTIONS),
    }


def organism_values(one: OrganismLethality) -> dict[str, Any]:
    """Return the judgement on one organism as plain values, its sentences in degrees Celsius."""
    return {
        "organism": one.organism,
        "name": one.name,
        "grade": one.grade,
        "counted": min(one.counted, COUNTABLE),
        "lower": min(one.lower, COUNTABLE),
        "best": min(one.best, COUNTABLE),
        "heat_lower": min(one.heat_lower, COUNTABLE),
        "drying_share": one.drying_share,
        "probability": one.probability,
        "target": one.target,
        "guideline": one.guideline,
        "quadrature_spread": one.quadrature_spread,
        "reason": reason(one),
        "circumstances": sentence(one.circumstances),
        "flags": [sentence(flag) for flag in one.flags],
    }


def table_values(found: TableCompliance) -> dict[str, Any]:
    """Return how far a federal table is fulfilled as plain values, with the cautions it adds to the general ones."""
    values = asdict(found)
    del values["hottest_K"]  # is in the reason
    return values | {"reason": table_reason(found), "cautions": list(table_cautions(found.rule))}


def growth_values(judged: Lethality, one: OrganismGrowth) -> dict[str, Any]:
    """Return what may have grown as plain values [log10]: the upper figure, without a lag, decides."""
    return {
        "organism": one.organism,
        "name": one.name,
        "upper": min(one.upper, COUNTABLE),
        "with_lag": min(one.lagged, COUNTABLE),
        "limit": one.limit,
        "surface": min(one.surface, COUNTABLE),
        "below_1_mm": None if one.below is None else min(one.below, COUNTABLE),
        "middle": min(one.middle, COUNTABLE),
        "growth_less_reduction": None if one.net is None else max(min(one.net, COUNTABLE), -COUNTABLE),
        "place": _worst_place(judged, one) if judged.slab_tray else {"node": one.node},
    }


def _worst_place(judged: Lethality, one: OrganismLethality | OrganismGrowth) -> dict[str, Any]:
    return {
        "tray": judged.slab_tray[one.slab] + 1,
        "thickness_m": judged.slab_thickness_m[one.slab],
        "node": one.node,
        "nodes": judged.node_count,
    }


def _remedy(one: Remedy) -> dict[str, Any]:
    return {
        "name": one.name,
        "change": CHANGES[one.name],
        "problem": one.problem or None,
        "extra_s": one.extra_s,
        "done_s": one.done_s,
        "done_shift_s": one.done_shift_s,
        "gains": {
            key: dict(zip(ESTIMATES, np.clip(gain, -COUNTABLE, COUNTABLE).tolist(), strict=True))
            for key, gain in one.gains.items()
        },
        "lethality": None if one.lethality is None else _lethality(one.lethality),
    }


def summary_json(
    history: History,
    answers: Answers,
    price: Price | None = None,
    remedies: Sequence[Remedy] | None = None,
    product: Yield | None = None,
) -> str:
    """Return the summary as JSON text."""
    return json_text(summary(history, answers, price, remedies, product))


def json_text(data: dict[str, Any]) -> str:
    """Return plain values as JSON text."""
    return json.dumps(data, indent=2, ensure_ascii=False, allow_nan=False) + "\n"


def pictures(draw: "Callable[[], Figure]") -> list[bytes]:
    """Draw a sheet; return it as PNG and as SVG."""
    from dryingsim.show.core.style import own_settings  # slow to import

    kinds: tuple[tuple[str, dict[str, Any]], ...] = (("png", {"Software": None}), ("svg", {"Date": None}))
    found = []
    with own_settings():
        sheet = draw()
        for kind, metadata in kinds:
            picture = io.BytesIO()
            sheet.savefig(picture, format=kind, dpi=_DPI, metadata=metadata)
            found.append(picture.getvalue())
    return found
