"""Heating before drying, put into the file of a plan where no air within its bounds is enough.

Which heating, `judge.remedies` knows: it is tried on the best schedule there is without. Its stages stand in the file before
those that dry, in place of what heats there already where that was not enough; what may change of the others stays.
"""

import copy
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Stage
from dryingsim.batch.writing.batch_file import stage_table
from dryingsim.judge.remedies import Remedy, RemedyName, remedied
from dryingsim.plan.requirements import flat

HEATING: tuple[RemedyName, ...] = ("heated first", "humid first", "boiled first")  # gentlest first


def heating_that_meets(tried: Sequence[Remedy], beyond: float) -> RemedyName | None:
    """Return the gentlest heating before drying that meets the log reduction, and if one does also what is kept beyond it.

    Where none does, one that meets it if its air is measured; else None.

    Parameters
    ----------
    tried : sequence of Remedy
        As `judge.remedies.remedies` gives them.
    beyond : float
        Log10 reduction beyond every target.
    """
    judged = {remedy.name: remedy.lethality for remedy in tried if remedy.lethality is not None}
    able = [(name, judged[name]) for name in HEATING if name in judged]
    met = [(name, lethality) for name, lethality in able if lethality.grade == "met"]
    enough = [
        name
        for name, lethality in met
        if min(each.counted - each.target for each in lethality.organisms) >= beyond
    ]
    unmeasured = [name for name, lethality in able if lethality.grade == "met only if measured"]
    return next(iter([*enough, *(name for name, _ in met), *unmeasured]), None)


def heated_document(document: Mapping[str, Any], batch: Batch, name: RemedyName) -> dict[str, Any]:
    """Return a batch file with heating put before its drying, and its [plan.between] with the stages' new numbers.

    Parameters
    ----------
    document : mapping
        The batch file as `tomllib` reads it.
    batch : Batch
        Of the file.
    name : str
        One of `HEATING`.
    """
    changed, first = remedied(batch, name), batch.first_drying
    kept = len(batch.stages) - first  # of the file's stages: those from the first that dries on
    heating = [_typed(stage, changed) for stage in changed.stages[: len(changed.stages) - kept]]
    heated = copy.deepcopy(dict(document))
    heated["stage"] = [*heating, *heated["stage"][first:]]
    if "between" in heated.get("plan", {}):
        heated["plan"]["between"] = {
            _renumbered(place, len(heating) - first): bounds
            for place, bounds in flat(heated["plan"]["between"])
            if not _is_before(place, first)
        }
    return heated


def _typed(stage: Stage, batch: Batch) -> dict[str, Any]:
    """Return a stage as it stands in a file, where a thermostat's learned offset comes on top."""
    if stage.dries:
        stage = replace(stage, air=replace(stage.air, temperature_K=dial_K(batch, stage.air)))
    return stage_table(stage, batch)


def _is_before(place: str, first_drying: int) -> bool:
    """Whether a place in a file is in a stage before the first that dries."""
    parts = place.split(".")
    return parts[0] == "stage" and int(parts[1]) <= first_drying


def _renumbered(place: str, by: int) -> str:
    """Return a place in a file with its stage counted on."""
    parts = place.split(".")
    return ".".join(["stage", str(int(parts[1]) + by), *parts[2:]]) if parts[0] == "stage" else place
