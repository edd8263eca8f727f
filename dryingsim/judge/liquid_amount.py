"""How much liquid slices are heated in before they dry, and how many slices what is left of a marinade keeps hot."""

from dryingsim.batch.heating import LIQUID_TO_MEAT, all_at_once, marinade_left
from dryingsim.batch.schema import Batch
from dryingsim.history import History
from dryingsim.judge.findings import Finding


def enough_marinade(batch: Batch) -> bool:
    """Whether what is left of the marinade keeps all slices hot at once; taken so where its amount is not told.

    Parameters
    ----------
    batch : Batch
    """
    left_kg = marinade_left(batch)
    return left_kg is None or left_kg >= all_at_once(batch)


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
    asked = {"liquid_to_meat": LIQUID_TO_MEAT, "washed": batch.washed, "kept": kept}
    left_kg = marinade_left(batch)
    if (
        left_kg is None
        or not heated_in_portions(batch)
        or any(stage.kind == "water" for stage in batch.stages)
    ):
        return (Finding("liquid_taken_to_stay", asked),)
    amounts = asked | {"marinade_kg": left_kg, "all_at_once_kg": all_at_once(batch)}
    at_a_time_kg = left_kg / LIQUID_TO_MEAT
    return (Finding("marinade_too_little", amounts | {"at_a_time_kg": at_a_time_kg}),)


def _in_liquid(batch: Batch) -> bool:
    return any(stage.in_liquid for stage in batch.stages)
