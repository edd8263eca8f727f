"""What a thermometer's check against ice or boiling water comes to, in words."""

from dataclasses import asdict

from dryingsim.batch.units import from_si
from dryingsim.kitchen.fixed_points import FixedPointCheck
from dryingsim.show.core.document import Detail, Document, sentences
from dryingsim.show.core.quantities import KitchenUnits

_NAMES = {"ice": "Ice point", "boiling": "Boiling point"}


def check_document(check: FixedPointCheck, system: str, limit_K: float | None = None) -> Document:
    """Return what a check comes to.

    Parameters
    ----------
    check : FixedPointCheck
    system : str
        `metric` or `us`.
    limit_K : float, optional
        A limit to be held with this thermometer [K].
    """
    shown = {} if limit_K is None else {"limit_K": limit_K, "shown_for_limit_K": check.shown_for(limit_K)}
    first, known = check_text(check, system, limit_K)
    return Document(
        f"{_NAMES[check.point]}: how far off this thermometer is",
        [*sentences(*first), Detail("how well it is known", sentences(*known))],
        lambda: {**asdict(check), "off_K": check.off_K, "doubtful": check.doubtful, **shown},
    )


def check_text(
    check: FixedPointCheck, system: str, limit_K: float | None = None
) -> tuple[list[str], list[str]]:
    """Return the sentences of a check: what to do, and how well it is known. Parameters as for `check_document`."""
    units = KitchenUnits(system)
    at, name, symbol = units.degrees, units.temperature.name, units.temperature.symbol

    def by(kelvin: float) -> str:
        return f"{from_si(kelvin, name, 'temperature difference'):+.1f}"

    lines = [
        f"{_NAMES[check.point]}: {at(check.true_K)}. The thermometer shows {at(check.read_K)}, so it is off by "
        f"{by(check.off_K)} {symbol}."
    ]
    known = [
        f"{_NAMES[check.point]}: {at(check.true_low_K)} to {at(check.true_high_K)}; off by {by(check.off_low_K)} to "
        f"{by(check.off_high_K)} {symbol}.",
    ]
    if check.doubtful:
        lines.append("That is too far off to correct: mend or replace it, and check it again.")
    if limit_K is not None:
        lines.append(
            f"If it is off as much at {at(limit_K)}, that is reached for certain only when it shows "
            f"{at(check.shown_for(limit_K))}."
        )
        known.append("A limit is never lowered for a thermometer that reads low.")
    other = "boiling water" if check.point == "ice" else "ice water"
    lines.append(
        f"It holds near this temperature; check it in {other}, too. Write down date, thermometer and reading."
    )
    return lines, known
