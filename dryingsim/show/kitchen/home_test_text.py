"""What a test of an empty appliance found, in words."""

from collections.abc import Sequence
from dataclasses import asdict

from dryingsim.batch.appliance_description import Description
from dryingsim.batch.units import from_si
from dryingsim.kitchen.home_tests import Findings
from dryingsim.show.core.document import Detail, Document, Sentence, sentences
from dryingsim.show.core.quantities import KitchenUnits
from dryingsim.show.kitchen.catalog_text import span_text, value_text


def home_test_document(base: Description, findings: Findings, system: str) -> Document:
    """Return what a test found, beside what the description said before it.

    Parameters
    ----------
    base : Description
        The appliance as known before the test.
    findings : Findings
    system : str
        "metric" or "us".
    """
    after = findings.described(base)
    lines = []
    for key in findings.parameters:
        was, now = base.entries.get(key), after.entries[key]
        before = f"; described as {value_text(key, was, system)} before" if was else ""
        lines.append(f"{key}: {value_text(key, now, system)} ({span_text(key, now, system)}){before}")
    return Document(
        f"{findings.test}, {base.name}",
        [
            *map(Sentence, [*lines, *findings.notes]),
            Detail("how well it is known", sentences(*_quality(findings, system))),
        ],
        lambda: {"appliance": base.name, **asdict(findings)},
    )


def _quality(findings: Findings, system: str) -> Sequence[str]:
    told, film = [], findings.film
    if film is not None:
        low, value, high = (
            KitchenUnits(system).film(float(f"{one:.3g}")) for one in (film.low, film.value, film.high)
        )
        told.append(f"Heat-transfer coefficient over the pan: {value} ({low} to {high}).")
    if findings.misfit_K is not None:
        name, symbol = ("degF", "°F") if system == "us" else ("K", "K")
        off = float(from_si(findings.misfit_K, name, "temperature difference"))
        told.append(f"The readings lie {off:.2g} {symbol} off the fitted course.")
    return told
