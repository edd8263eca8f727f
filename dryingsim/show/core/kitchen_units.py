"""Units and paragraphs of what is told about the steps before drying."""

from collections.abc import Sequence

from dryingsim.batch.units import display_units
from dryingsim.show.core.quantities import LARGE_BATCH_KG, Unit
from dryingsim.show.core.tables import wrapped


class KitchenUnits:
    """The units to print in, for the system "metric" or "us"."""

    def __init__(self, system: str) -> None:
        names = display_units(system)
        self.temperature = Unit("temperature", names["temperature"])
        self.length = Unit("length", names["length"])
        self.bulk = Unit("mass", names["mass"])
        self.mass = Unit("mass", {"kg": "g", "lb": "oz"}[names["mass"]])

    def degrees(self, kelvin: float) -> str:
        """Return a temperature to a tenth of a degree."""
        return f"{self.temperature.value(kelvin):.1f} {self.temperature.symbol}"

    def weight(self, kg: float) -> str:
        """Return a weight: small ones in g or in pounds and ounces, large ones in kg or lb."""
        large = 1.0 if self.mass.name == "g" else LARGE_BATCH_KG
        return (self.mass if kg < large else self.bulk).text(kg)


def paragraphs(sentences: Sequence[str]) -> str:
    """Return paragraphs of plain text, at most 80 columns wide."""
    return "\n".join(map(wrapped, sentences))
