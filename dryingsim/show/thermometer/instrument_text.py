"""What the checks of a thermometer against ice or boiling water, of a wick and of a dial come to, in words."""

from dataclasses import asdict

from dryingsim.batch.units import from_si
from dryingsim.kitchen.air_instruments import DialCheck, WickCheck
from dryingsim.kitchen.fixed_points import FixedPointCheck
from dryingsim.show.core.document import Document, picked, screen
from dryingsim.show.core.quantities import KitchenUnits

_KNOWN = "how well it is known"
_POINTS = {"ice": "Ice point", "boiling": "Boiling point"}
_WET = (
    "It reads too high: the wick is dry, dirty or too short, or the air over it too slow. In a dryer it would make the "
    "air look more humid than it is. Wet it with clean water, put it before a fan, wait three minutes and check again."
)
_LOW = (
    "It reads too low: is the hygrometer right, and does the thermometer under the wick read low by itself?"
)


def check_document(check: FixedPointCheck, system: str, limit_K: float | None = None) -> Document:
    """Return what a check against ice or boiling water comes to; `limit_K` is to be held with this thermometer."""
    units = KitchenUnits(system)
    at, symbol, point = units.degrees, units.temperature.symbol, _POINTS[check.point]

    def by(kelvin: float) -> str:
        return f"{from_si(kelvin, units.temperature.name, 'temperature difference'):+.1f}"

    data = {**asdict(check), **picked(check, "off_K", "doubtful")}
    said = [
        f"{point}: {at(check.true_K)}. The thermometer shows {at(check.read_K)}, so it is off by {by(check.off_K)} {symbol}."
    ]
    known = [
        f"{point}: {at(check.true_low_K)} to {at(check.true_high_K)}; off by {by(check.off_low_K)} to "
        f"{by(check.off_high_K)} {symbol}.",
    ]
    if check.doubtful:
        said.append("That is too far off to correct: mend or replace it, and check it again.")
    if limit_K is not None:
        shown_K = check.shown_for(limit_K)
        data |= {"limit_K": limit_K, "shown_for_limit_K": shown_K}
        said.append(
            f"If it is off as much at {at(limit_K)}, that is reached for certain only when it shows {at(shown_K)}."
        )
        known.append("A limit is never lowered for a thermometer that reads low.")
    other = "boiling water" if check.point == "ice" else "ice water"
    said.append(
        f"It holds near this temperature; check it in {other}, too. Write down date, thermometer and reading."
    )
    return screen(f"{point}: how far off this thermometer is", said, {_KNOWN: known}, lambda: data, None)


def wick_document(check: WickCheck, system: str) -> Document:
    """Return what the check of a wick comes to."""
    kelvins = (check.true_K, check.true_low_K, check.true_high_K, check.read_K)
    true, low, high, read = map(KitchenUnits(system).degrees, kelvins)
    verdict = "It holds." if check.holds else _WET if check.dry else _LOW
    return screen(
        "Wick: whether this wet bulb shows what the room's humidity says",
        [f"By the hygrometer a wet bulb shows {true} here. This one shows {read}. {verdict}"],
        {_KNOWN: [f"By the hygrometer: {low} to {high}."]},
        lambda: {**asdict(check), **picked(check, "off_K", "holds", "dry")},
        None,
    )


def dial_document(check: DialCheck, system: str) -> Document:
    """Return what the check of a dial comes to."""
    unit = KitchenUnits(system).temperature
    offset, low, high, size = (
        from_si(kelvin, unit.name, "temperature difference")
        for kelvin in (check.offset_K, check.low_K, check.high_K, check.uncertainty_K)
    )
    span = f"{low:+.1f} to {high:+.1f} {unit.symbol}"
    return screen(
        "Dial: how far the air stands from what is set",
        [
            f"The air stands {offset:+.1f} {unit.symbol} from the dial, give or take {size:.1f} {unit.symbol}. For air of a "
            f"temperature set the dial {-offset:+.1f} {unit.symbol} from it."
        ],
        {_KNOWN: [f"{check.count} readings: {span}; known to {size:.1f} {unit.symbol}."]},
        lambda: asdict(check),
        None,
    )
