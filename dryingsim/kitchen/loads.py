"""A batch that the trays do not hold, as loads one after the other: each a share of it, with its share of every thickness."""

from dataclasses import dataclass, replace

from dryingsim.batch.money import Amount
from dryingsim.batch.schema import Batch
from dryingsim.batch.soaking import Portion, Soak
from dryingsim.kitchen.loading import covered_area, loads_needed, tray_of


@dataclass(frozen=True, slots=True)
class Loads:
    """A batch in equal loads.

    Attributes
    ----------
    batch : Batch
        All of it.
    count : int
        How many loads; one where the trays hold it, and in given air.
    one : Batch
        One load.
    """

    batch: Batch
    count: int
    one: Batch


def loads_of(batch: Batch) -> Loads:
    """Return a batch in as few equal loads as its appliance's trays can hold.

    Parameters
    ----------
    batch : Batch

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> loads_of(demo_batch()).count  # in given air
    1
    """
    if batch.appliance is None:
        return Loads(batch, 1, batch)
    count = loads_needed(covered_area(batch), tray_of(batch))
    return Loads(batch, count, batch if count == 1 else _share(batch, 1.0 / count))


def _share(batch: Batch, share: float) -> Batch:
    """Return a share of a batch, with as much of its marinade."""
    marinade = batch.marinade
    if marinade.soak is not None:
        marinade = replace(marinade, soak=_poured(marinade.soak, share))
    return replace(batch, meat=replace(batch.meat, weight_kg=share * batch.meat.weight_kg), marinade=marinade)


def _poured(soak: Soak, share: float) -> Soak:
    return replace(soak, portions=tuple(_part(one, share) for one in soak.portions))


def _part(portion: Portion, share: float) -> Portion:
    cost = portion.cost and Amount(share * portion.cost.value, portion.cost.currency)
    return replace(portion, weight_kg=share * portion.weight_kg, cost=cost)
