"""A federal table's numbers as one sentence, and what a person is to know of it."""

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.federal_table import HumidityRule, TableCompliance


def table_reason(found: TableCompliance) -> str:
    """Return the numbers of a federal table as a sentence."""
    rule = found.rule
    shares = [f"{rule.least_share:.0%}"] if rule.least_share else []
    times = [f"{rule.least_time_s / 60.0:.0f} min"] if rule.least_time_s else []
    asked = " and ".join(shares + times)
    verdict = (f"at least {asked} is asked for, " if asked else "") + _met(found.humidity_met)
    return (
        f"{found.where}, {found.target:g} log, humidity {rule.version}: while it counted, the coldest place gathered "
        f"{found.fraction:.0%} of the required time (it reached {found.hottest_K - ZERO_CELSIUS:.1f} degC); the condition "
        f"on the air held for {found.humid_share:.0%} of the cooking time ({found.humid_time_s / 60.0:.0f} min), {verdict}; "
        f"{found.come_up_s / 3600.0:.1f} h between 10 and 54.4 degC, 6 h are allowed, {_met(found.come_up_met)}."
    )


def _met(holds: bool) -> str:
    return "met" if holds else "not met"


def table_cautions(rule: HumidityRule) -> tuple[str, ...]:
    """Return what is to be known of a table beside the cautions of every judgement."""
    own = (
        "The table speaks of Salmonella only; L. monocytogenes was found more resistant in meat.",
        "The guideline supports neither drying alone nor drying before cooking in dry air (FSIS-GD-2021-14, p. 13).",
    )
    if rule.signal != "steam":
        return own
    return (
        *own,
        "Roasts cooked below 30 % relative humidity fell short of 6.5 log, and steam for half of the time does not ensure "
        "more (J Food Prot 70(3), 2007): measure the humidity as well.",
    )
