"""How much liquid slices are heated in before they dry, and whether what is left of a marinade will do for it."""

from typing import Annotated

from dryingsim.batch.schema import Batch
from dryingsim.batch.soaking import mixed
from dryingsim.evidence import Evidence

LIQUID_TO_MEAT: Annotated[
    float,
    Evidence("-", "estimate", "kg a kg: a mix of boiling water and cold meat is then still above 90 degC"),
] = 10.0
_MEAT_KG_M3: Annotated[float, Evidence("kg/m3", "estimate", "raw lean meat", (1040.0, 1090.0))] = 1060.0


def all_at_once(batch: Batch) -> float:
    """Return how much liquid stays hot with all the meat in it [kg]."""
    return LIQUID_TO_MEAT * batch.meat.weight_kg


def marinade_left(batch: Batch) -> float | None:
    """Return what is left of the marinade once the meat has taken up its share [kg]; None where it is not told."""
    marinade = batch.marinade
    if marinade.soak is None:
        return None
    taken_up_kg = marinade.taken_up_kg_kg * batch.meat.weight_kg
    return max(mixed(marinade.soak.portions).weight_kg - taken_up_kg, 0.0)


def too_little_for_a_slice(batch: Batch) -> bool:
    """Whether what is left of the marinade does not stay hot even with one slice of the thickest in it."""
    left_kg, meat = marinade_left(batch), batch.meat
    thickest_m = max(each.thickness_m for each in meat.classes)
    slice_kg = _MEAT_KG_M3 * thickest_m * meat.length_m * meat.width_m
    return left_kg is not None and left_kg < LIQUID_TO_MEAT * slice_kg
