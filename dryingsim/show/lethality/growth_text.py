"""What may have grown meanwhile, in plain sentences."""

from dryingsim.judge.decline import STUDIED_K
from dryingsim.judge.grades import Lethality
from dryingsim.judge.growth import BELOW_M, OrganismGrowth
from dryingsim.show.core.quantities import Units, logs
from dryingsim.show.lethality.words import WITHOUT_HEAT

_HARDLY = 0.05  # log10: what rounds to nothing


def growth_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what may grow where bacteria sit and deeper, and what remains of it after the log reduction, a sentence or two each.

    Parameters
    ----------
    lethality : Lethality
    units : Units
        What lengths are printed in.
    """
    grown = lethality.growth
    if not grown:
        return []
    if max(max(one.upper, one.middle, one.below or 0.0) for one in grown) < _HARDLY:
        return [
            "Hardly anything grows meanwhile, by published models: less than 0.1 log of each kind of bacteria."
        ]
    return [" ".join([_where_they_sit(grown), *_deeper(lethality, units)]), *_with_reduction(lethality)]


def without_heat_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return what may have declined without heat; nothing where it is hardly anything.

    Parameters
    ----------
    lethality : Lethality
    units : Units
        What temperatures are printed in.
    """
    if lethality.without_heat < _HARDLY:
        return []
    most = units.temperature.text(STUDIED_K[1])
    return [WITHOUT_HEAT.format(reduction=logs(lethality.without_heat), most=most) + "."]


def _where_they_sit(grown: tuple[OrganismGrowth, ...]) -> str:
    some = [f"{one.name} {logs(one.upper)}" for one in grown if one.upper >= _HARDLY]
    rest = "" if len(some) == len(grown) else "the others less than 0.1" if some else "all less than 0.1"
    limits = "".join(
        f" With a lag {one.name} comes to {logs(one.lagged)}; federal guidance allows it {one.limit:g}, for its toxin."
        for one in grown
        if one.limit is not None
    )
    amounts = ", ".join(filter(None, [*some, rest]))
    return f"May grow meanwhile where bacteria sit (log, published models, no lag): {amounts}.{limits}"


def _deeper(lethality: Lethality, units: Units) -> list[str]:
    """Say what it would be below the surface, of the organism with a limit; intact muscle is nearly free of bacteria there."""
    one = next((one for one in lethality.growth if one.limit is not None), None)
    if one is None or lethality.form != "sliced" or one.below is None:
        return []
    return [
        f"That is the surface of intact muscle; in pounded, needled or minced meat {one.name} would come to "
        f"{logs(one.below)} log at {units.length.text(BELOW_M)} below it and to {logs(one.middle)} in the middle."
    ]


def _with_reduction(lethality: Lethality) -> list[str]:
    """Say what growth and log reduction come to together, where there is any."""
    if max(one.counted for one in lethality.organisms) < _HARDLY:
        return []
    parts = [
        f"{one.name} {logs(abs(one.net))} {'more' if one.net > 0.0 else 'fewer'}"
        for one in lethality.growth
        if one.net is not None
    ]
    return [
        f"Growth and log reduction (lower bound) together, at the least-reduced place, log: {', '.join(parts)}."
    ]
