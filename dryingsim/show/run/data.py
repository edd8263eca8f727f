"""The answers of a run as plain values in SI, for other programs."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

import numpy as np

from dryingsim.answer import Answer
from dryingsim.batch.schema import ThicknessClass
from dryingsim.history.provenance import inputs_of, versions
from dryingsim.judge.grades import ESTIMATES
from dryingsim.judge.heat_resistance import COUNTABLE
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.taking_off import leaving_times
from dryingsim.show.core.document import picked
from dryingsim.show.core.tables import CAUTION
from dryingsim.show.kitchen.loading_text import loads_data
from dryingsim.show.kitchen.marinade_text import marinade_data
from dryingsim.show.kitchen.serving_words import serving_values
from dryingsim.show.lethality.data import lethality_values
from dryingsim.show.lethality.words import CHANGES


def summary(answer: Answer, remedies: Sequence[Remedy] | None = None) -> dict[str, Any]:
    """Return the answers of a run as plain values in SI, null where something was not reached.

    Keys
    ----
    batch : title of the batch.
    learned : what was learned from logs and is in its numbers (`Learned` of dryingsim.batch.schema); null without.
    caution : what the numbers are not, and what to do.
    done : `Doneness` (see dryingsim.judge.doneness) with its windows and the weight to `stop` at (done_window, stop_weight);
        each of `classes` with its raw `thickness_m` and the shares of the loaded weight to stop at (`SlicesReady` of
        dryingsim.answer); `stop_by_tray` likewise in weights.
    loads : how many a batch takes that the trays do not hold at once, the `raw_kg` and the time of each, and all of it; all
        else is of one of them.
    looks : regular looks, first look and then again and again (`Look` of dryingsim.answer), `ready` the share likely ready.
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
        `water_activity` of the wettest slices, evened out, all as if left in to the end; and `leaves_s`, when each
        thickness on each tray is taken off.
    closure : largest relative miss of the `water` and the `energy` balance of the slices, and of the
        `appliance_water` and the `appliance_energy`, null in given air.
    solver : counts of the work done, and `nodes` across a slice.
    inputs : the batch as the text of its file; null where no file says the same, as with what was learned from logs.
    components : the laws of physics that are not the package's own (`Components` of dryingsim.batch.components); else null.
    versions : of the programs that computed this.
    """
    history, trays, energy = answer.history, answer.trays, answer.energy
    stages = zip(history.batch.stages, history.stage_end_s, strict=True)
    taken_out, appliance, chamber = answer.taken_out, history.batch.appliance, history.chamber
    return {
        "batch": history.batch.name,
        "learned": asdict(history.batch.learned) if history.batch.learned else None,
        "caution": CAUTION,
        "done": _done(answer),
        "loads": loads_data(answer),
        "looks": [asdict(look) for look in answer.regular_looks],
        "heating": asdict(answer.heating),
        "trays": {"appliance": appliance.name, **asdict(trays)} if trays and appliance else None,
        "energy": asdict(energy) if energy else None,
        "lethality": lethality_values(answer.lethality),
        "taken_out": taken_out and {"done_s": taken_out[0], "lethality": lethality_values(taken_out[1])},
        "remedies": None if remedies is None else [_remedy(one) for one in remedies[1:]],
        "texture": asdict(answer.texture) | {"half_hour_more": asdict(answer.half_hour_more)},
        "yield": asdict(answer.product),
        "marinade": marinade_data(answer.marinated) if answer.marinated else None,
        "serving": serving_values(answer.serving),
        "stages": [{"name": stage.name, "end_s": float(end)} for stage, end in stages],
        "end": {
            "time_s": float(history.time_s[-1]),
            "weight_kg": float(history.weight_kg[-1].sum()),
            "weight_loss": float(history.weight_loss[-1]),
            "moisture_db": float(history.batch_moisture_db[-1]),
            "moisture_protein_ratio": float(history.moisture_protein_ratio[-1]),
            "water_activity": float(history.equalised_water_activity[-1].max()),
            "leaves_s": leaving_times(history).tolist(),
        },
        "closure": {
            "water": history.water_closure,
            "energy": history.energy_closure,
            "appliance_water": chamber.water_closure if chamber else None,
            "appliance_energy": chamber.energy_closure if chamber else None,
        },
        "solver": {"nodes": history.slabs.nodes.size, **asdict(history.statistics)},
        "inputs": inputs_of(history.batch),
        "components": history.batch.components.replaced or None,
        "versions": versions(),
    }


def _done(answer: Answer) -> dict[str, Any]:
    done = asdict(answer.doneness)
    trios = zip(answer.batch.meat.classes, done["classes"], answer.by_thickness, strict=True)
    classes = [{**_class(one), **window, **picked(slices, "stop_share")} for one, window, slices in trios]
    return done | {"classes": classes, "stop_by_tray": [asdict(tray.stop) for tray in answer.by_tray]}


def _class(one: ThicknessClass) -> dict[str, Any]:
    """Return what tells a class from others; how it lies only where that is not flat."""
    return {"thickness_m": one.thickness_m} | ({} if one.lies == "flat" else {"lies": one.lies})


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
        "lethality": None if one.lethality is None else lethality_values(one.lethality),
    }
