"""How much liquid slices are heated in before they dry, and how many slices what is left of a marinade keeps hot."""

from typing import Annotated

from dryingsim.batch.schema import Batch
from dryingsim.batch.soaking import mixed
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.findings import Finding

_LIQUID_TO_MEAT: Annotated[
    float,
    Evidence("-", "estimate", "kg a kg: a mix of boiling water and cold meat is then still above 90 degC"),
] = 10.0


def enough_marinade(batch: Batch) -> bool:
    """Whether what is left of the marinade keeps all slices hot at once; taken so where its amount is not told.

    Parameters
    ----------
    batch : Batch
    """
    left_kg = _marinade_left(batch)
    return batch.marinade.seasoned and (left_kg is None or left_kg >= _all_at_once(batch))


def heated_in_portions(batch: Batch) -> bool:
    """Whether slices are heated in liquid, without a marinade that is enough for all of them at once.

    Parameters
    ----------
    batch : Batch
    """
    told = batch.marinade.soak is not None and any(stage.kind == "marinade" for stage in batch.stages)
    return _in_liquid(batch) and not (told and enough_marinade(batch))


def liquid_counted_on(history: History) -> tuple[Finding, ...]:
    """Return what is counted on in hot liquid, and how far what is left of the marinade goes if that is the liquid.

    Parameters
    ----------
    history : History
    """
    batch = history.batch
    if not _in_liquid(batch):
        return ()
    kept = batch.marinade.seasoned and not batch.washed  # what water would take
    asked = {"liquid_to_meat": _LIQUID_TO_MEAT, "washed": batch.washed, "kept": kept}
    left_kg = _marinade_left(batch)
    if (
        left_kg is None
        or not heated_in_portions(batch)
        or any(stage.kind == "water" for stage in batch.stages)
    ):
        return (Finding("liquid_taken_to_stay", asked),)
    amounts = asked | {"marinade_kg": left_kg, "all_at_once_kg": _all_at_once(batch)}
    at_a_time_kg = left_kg / _LIQUID_TO_MEAT
    if at_a_time_kg < _heaviest_slice(history):
        return (Finding("marinade_below_a_slice", amounts),)
    return (Finding("marinade_too_little", amounts | {"at_a_time_kg": at_a_time_kg}),)


def _in_liquid(batch: Batch) -> bool:
    return any(stage.in_liquid for stage in batch.stages)


def _all_at_once(batch: Batch) -> float:
    """Return how much liquid stays hot with all the meat in it [kg]."""
    return _LIQUID_TO_MEAT * batch.meat.weight_kg


def _marinade_left(batch: Batch) -> float | None:
    """Return what is left of the marinade once the meat has taken up its share [kg]; None where it is not told."""
    marinade = batch.marinade
    if marinade.soak is None:
        return None
    taken_up = marinade.salt_kg_kg + marinade.sugar_kg_kg + marinade.water_kg_kg
    return max(mixed(marinade.soak.portions).weight_kg - taken_up * batch.meat.weight_kg, 0.0)


def _heaviest_slice(history: History) -> float:
    """Return what a slice of the thickest class weighs as it goes into the liquid [kg]."""
    slabs, meat = history.slabs, history.batch.meat
    weight_kg_m2 = slabs.dry_mass_kg_m2[0] * (1.0 + slabs.initial_moisture_db[0])
    density = float(weight_kg_m2 / history.thickness_m[0, 0])
    thickest_m = max(each.thickness_m for each in meat.classes)
    return density * thickest_m * meat.length_m * meat.width_m
