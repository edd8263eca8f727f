"""What the checks of a wick and of a dial come to, in words."""

from dataclasses import asdict

from dryingsim.batch.units import from_si
from dryingsim.kitchen.air_instruments import DialCheck, WickCheck
from dryingsim.show.core.document import Detail, Document, sentences
from dryingsim.show.core.quantities import KitchenUnits


def wick_document(check: WickCheck, system: str) -> Document:
    """Return what the check of a wick comes to.

    Parameters
    ----------
    check : WickCheck
    system : str
        `metric` or `us`.
    """
    true, low, high, read = map(
        KitchenUnits(system).degrees, (check.true_K, check.true_low_K, check.true_high_K, check.read_K)
    )
    verdict = (
        "It holds."
        if check.holds
        else "It reads too high: the wick is dry, dirty or too short, or the air over it too slow. In a dryer it would make the "
        "air look more humid than it is. Wet it with clean water, put it before a fan, wait three minutes and check again."
        if check.dry
        else "It reads too low: is the hygrometer right, and does the thermometer under the wick read low by itself?"
    )
    return Document(
        "Wick: whether this wet bulb shows what the room's humidity says",
        [
            *sentences(f"By the hygrometer a wet bulb shows {true} here. This one shows {read}. {verdict}"),
            Detail("how well it is known", sentences(f"By the hygrometer: {low} to {high}.")),
        ],
        lambda: {**asdict(check), "off_K": check.off_K, "holds": check.holds, "dry": check.dry},
    )


def dial_document(check: DialCheck, system: str) -> Document:
    """Return what the check of a dial comes to.

    Parameters
    ----------
    check : DialCheck
    system : str
    """
    unit = KitchenUnits(system).temperature
    name, symbol = unit.name, unit.symbol
    offset, low, high, size = (
        from_si(kelvin, name, "temperature difference")
        for kelvin in (check.offset_K, check.low_K, check.high_K, check.uncertainty_K)
    )
    readings = f"{check.count} readings: {low:+.1f} to {high:+.1f} {symbol}; known to {size:.1f} {symbol}."
    return Document(
        "Dial: how far the air stands from what is set",
        [
            *sentences(
                f"The air stands {offset:+.1f} {symbol} from the dial, give or take {size:.1f} {symbol}. For air of a "
                f"temperature set the dial {-offset:+.1f} {symbol} from it."
            ),
            Detail("how well it is known", sentences(readings)),
        ],
        lambda: asdict(check),
    )
