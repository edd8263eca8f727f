"""Units of what is told about the steps before drying."""

from dryingsim.batch.units import display_units
from dryingsim.show.core.quantities import LARGE_BATCH_KG, Unit, btu_per_lb

_LITTLE_G = 10.0  # a kitchen scale shows whole grams
_BTU_H_FT2_F = 0.17611  # in 1 W/m2K


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

    def heat(self, J_kg: float) -> str:
        """Return a heat per weight: "15 kJ/kg", "6 Btu/lb"."""
        return f"{btu_per_lb(J_kg):.0f} Btu/lb" if self.bulk.name == "lb" else f"{J_kg / 1e3:.0f} kJ/kg"

    def film(self, W_m2K: float) -> str:
        """Return a heat-transfer coefficient: "8 W/m2K", "1.4 Btu/(h ft2 °F)"."""
        us = self.bulk.name == "lb"
        return f"{_BTU_H_FT2_F * W_m2K:.1f} Btu/(h ft2 °F)" if us else f"{W_m2K:g} W/m2K"

    def pinch(self, kg: float) -> str:
        """Return the weight of an ingredient: of little, such as curing salt, two digits, and in g too.

        Examples
        --------
        >>> KitchenUnits("us").pinch(0.0014), KitchenUnits("metric").pinch(0.0007), KitchenUnits("us").pinch(0.128)
        ('0.049 oz (1.4 g)', '0.7 g', '4.5 oz')
        """
        size, grams = float(self.mass.value(kg)), f"{1e3 * kg:.2g} g"
        if self.mass.name == "g":
            return grams if size < _LITTLE_G else self.weight(kg)
        return f"{size:.2g} oz ({grams})" if size < 1.0 else self.weight(kg)

    def weight(self, kg: float) -> str:
        """Return a weight: small ones in g or in pounds and ounces, large ones in kg or lb."""
        large = 1.0 if self.mass.name == "g" else LARGE_BATCH_KG
        return (self.mass if kg < large else self.bulk).text(kg)
