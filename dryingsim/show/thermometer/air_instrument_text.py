"""What the checks of a wick and of a dial come to, in words."""

from dryingsim.batch.units import from_si
from dryingsim.kitchen.air_instruments import DialCheck, WickCheck


def _unit(system: str) -> tuple[str, str]:
    return ("degF", "°F") if system == "us" else ("degC", "°C")


def wick_text(check: WickCheck, system: str) -> list[str]:
    """Return the sentences of a check of a wick.

    Parameters
    ----------
    check : WickCheck
    system : str
        `metric` or `us`.
    """
    name, symbol = _unit(system)
    true, low, high, read = (
        f"{from_si(kelvin, name):.1f} {symbol}"
        for kelvin in (check.true_K, check.true_low_K, check.true_high_K, check.read_K)
    )
    verdict = (
        "It holds."
        if check.holds
        else "It reads too high: the wick is dry, dirty or too short, or the air over it too slow. In a dryer it would make the "
        "air look more humid than it is. Wet it with clean water, put it before a fan, wait three minutes and check again."
        if check.dry
        else "It reads too low: is the hygrometer right, and does the thermometer under the wick read low by itself?"
    )
    return [
        f"By the hygrometer a wet bulb shows {true} here ({low} to {high}). This one shows {read}. {verdict}"
    ]


def dial_text(check: DialCheck, system: str) -> list[str]:
    """Return the sentences of a check of a dial.

    Parameters
    ----------
    check : DialCheck
    system : str
    """
    name, symbol = _unit(system)
    offset, low, high, size = (
        from_si(kelvin, name, "temperature difference")
        for kelvin in (check.offset_K, check.low_K, check.high_K, check.uncertainty_K)
    )
    span = f" ({low:+.1f} to {high:+.1f} in {check.count} readings)" if check.count > 1 else ""
    return [
        f"The air stands {offset:+.1f} {symbol} from the dial{span}, give or take {size:.1f} {symbol}. For air of a temperature "
        f"set the dial {-offset:+.1f} {symbol} from it.",
    ]
