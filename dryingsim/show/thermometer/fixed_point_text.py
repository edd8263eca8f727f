"""What a thermometer's check against ice or boiling water comes to, in words."""

from dryingsim.batch.units import from_si
from dryingsim.kitchen.fixed_points import FixedPointCheck

_NAMES = {"ice": "Ice point", "boiling": "Boiling point"}


def check_text(check: FixedPointCheck, system: str, limit_K: float | None = None) -> list[str]:
    """Return the sentences of a check.

    Parameters
    ----------
    check : FixedPointCheck
    system : str
        `metric` or `us`.
    limit_K : float, optional
        A limit to be held with this thermometer [K].
    """
    name, symbol = ("degF", "°F") if system == "us" else ("degC", "°C")

    def at(kelvin: float) -> str:
        return f"{from_si(kelvin, name):.1f} {symbol}"

    def by(kelvin: float) -> str:
        return f"{from_si(kelvin, name, 'temperature difference'):+.1f}"

    off = f"{by(check.off_K)} {symbol} ({by(check.off_low_K)} to {by(check.off_high_K)})"
    lines = [
        f"{_NAMES[check.point]}: {at(check.true_K)} ({at(check.true_low_K)} to {at(check.true_high_K)}). "
        f"The thermometer shows {at(check.read_K)}, so it is off by {off}.",
    ]
    if check.doubtful:
        lines.append("That is too far off to correct: mend or replace it, and check it again.")
    if limit_K is not None:
        lines.append(
            f"If it is off as much at {at(limit_K)}, that is reached for certain only when it shows "
            f"{at(check.shown_for(limit_K))}. "
            "(A limit is never lowered for a thermometer that reads low.)"
        )
    other = "boiling water" if check.point == "ice" else "ice water"
    lines.append(
        f"It holds near this temperature; check it in {other}, too. Write down date, thermometer and reading."
    )
    return lines
