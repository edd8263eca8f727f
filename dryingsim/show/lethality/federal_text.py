"""The federal time-temperature table and the home advice in plain sentences."""

from math import ceil

from dryingsim.batch.catalog.federal_tables import federal_column
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.federal_table import (
    COME_UP_K,
    IN_LIQUID,
    LONGEST_COME_UP_S,
    HumidityRule,
    TableCompliance,
    required_time,
)
from dryingsim.judge.grades import Lethality
from dryingsim.show.core.quantities import Unit, capital, percent, spoken

_HELD_K = 339.15  # 66 degC: a few minutes suffice there
NAME = "Federal time-temperature table (USDA FSIS Appendix A of 2021"


def table_line(found: TableCompliance, temperature: Unit) -> str:
    """Return how far the table is fulfilled: its time in humid air, the air, the come-up."""
    head = f"{NAME}: {_column(found)}; humidity {found.rule.version})"
    if found.fulfilled:
        return f"{head}: fulfilled; {_come_up(found, temperature)}."
    if found.rule == IN_LIQUID:
        return f"{head}: not fulfilled. {_in_liquid(found, temperature)} {capital(_come_up(found, temperature))}."
    air = "" if found.humidity_met else f"; {_asked(found)}"
    return (
        f"{head}: not fulfilled. Of its time {percent(min(found.fraction, 1.0))} was gathered in air that was measured to be, "
        f"or that the room itself makes, as humid as it asks{air}. {any_air(found)} {capital(_come_up(found, temperature))}."
    )


def checks_line(lethality: Lethality, temperature: Unit) -> str:
    """Return in one line what the two separate checks say: the federal table and the home advice."""
    found = lethality.table
    table = f"no federal table {'speaks of this meat' if lethality.species == 'fish' else 'was looked at'}"
    if found is not None:
        table = f"federal time-temperature table (USDA FSIS, {_short(found)}) {'' if found.fulfilled else 'not '}fulfilled"
    advice = lethality.advice
    if advice is None:
        return f"Separate checks: {table}."
    followed = "followed" if advice.before_drying else "not followed"
    return f"Separate checks: {table}; USDA home advice ({temperature.text(advice.asked_K)} before drying) {followed}."


def check_values(lethality: Lethality) -> dict[str, bool | None]:
    """Return what the two separate checks say as plain values; null where one was not looked at."""
    found, advice = lethality.table, lethality.advice
    return {
        "federal_table_fulfilled": None if found is None else found.fulfilled,
        "home_advice_followed": None if advice is None else advice.before_drying,
    }


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


def any_air(found: TableCompliance) -> str:
    """Return what the time would come to if drier air counted too, so that nobody takes it for the answer."""
    if found.fraction >= 1.0:
        return "The meat was hot for long enough."
    if found.fraction_any_air >= 1.0:
        return "The meat was hot for long enough, but in air too dry to count."
    return f"Even if drier air counted, it would be {percent(found.fraction_any_air)} only."


def _in_liquid(found: TableCompliance, temperature: Unit) -> str:
    """Return what of the table's time was gathered in the liquid, and how long would do there."""
    column = federal_column(found.table, found.target, found.fat_percent)
    minutes = ceil(float(required_time(_HELD_K, column)) / 60.0)
    return (
        f"Of its time {percent(min(found.fraction, 1.0))} was gathered in the liquid. It would be met by {minutes} min in "
        f"the liquid with the coldest place of the meat itself, not the liquid, at {temperature.text(_HELD_K)} or more: "
        "put a thermometer into the thickest slice."
    )


def _short(found: TableCompliance) -> str:
    fat = f", {found.fat_percent} % fat" if found.fat_percent is not None else ""
    return f"{found.table}{fat}, {found.target:g} log"


def _column(found: TableCompliance) -> str:
    page = found.where.partition(", ")[2]
    keeps = " as it ends dry enough to keep" if (found.table, found.target) == ("meat", 5.0) else ""
    return f"{_short(found)}{keeps}, {page}"


def _asked(found: TableCompliance) -> str:
    rule = found.rule
    if rule.throughout:
        return "it asks for that throughout"
    return (
        f"it asks for {percent(rule.least_share)} of the cooking time and {spoken(rule.least_time_s)} at least, and has "
        f"{percent(found.humid_share)} and {spoken(found.humid_time_s)}"
    )


def _come_up(found: TableCompliance, temperature: Unit) -> str:
    low, high = map(temperature.text, COME_UP_K)
    return (
        f"some of the meat was between {low} and {high} for {spoken(found.come_up_s)} before, "
        f"{spoken(LONGEST_COME_UP_S)} are allowed"
    )
