"""What may have grown meanwhile, in plain sentences."""

from dryingsim.judge.grades import Lethality, logs
from dryingsim.judge.growth import BELOW_M
from dryingsim.judge.growth_places import OrganismGrowth
from dryingsim.show.quantities import Units

_HARDLY = 0.05  # log10: what rounds to nothing


def growth_lines(lethality: Lethality, units: Units) -> list[str]:
    """Return the growth where bacteria sit and deeper, and what is left of it after the kill, a sentence each.

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
    return [_where_they_sit(lethality), *_deeper(lethality, units), *_net(grown)]


def _where_they_sit(lethality: Lethality) -> str:
    amounts = ", ".join(f"{one.name} {logs(one.upper)}" for one in lethality.growth)
    limits = "".join(
        f" Federal guidance allows {one.limit:g} log of {one.name}, which leaves a toxin; with a lag it comes to "
        f"{logs(one.lagged)}."
        for one in lethality.growth
        if one.limit is not None
    )
    return f"What may grow where bacteria sit, by published models and without a lag, log: {amounts}.{limits}"


def _deeper(lethality: Lethality, units: Units) -> list[str]:
    """Say what it would be below the surface, of the organism with a limit; intact muscle is nearly free of bacteria there."""
    one = next((one for one in lethality.growth if one.limit is not None), None)
    if one is None or lethality.form != "sliced" or one.below is None:
        return []
    return [
        f"That is on the surface. {units.length.text(BELOW_M)} below it {one.name} would grow by {logs(one.below)} log and in "
        f"the middle by {logs(one.middle)}: intact muscle has none there, pounded, needled or minced meat has."
    ]


def _net(grown: tuple[OrganismGrowth, ...]) -> list[str]:
    parts = [
        f"{one.name} {'+' if one.net > 0.0 else '-'}{logs(abs(one.net))}"
        for one in grown
        if one.net is not None
    ]
    if not parts:
        return []
    return [f"Growth less kill (cautious) at the least-reduced place, log: {', '.join(parts)}."]
