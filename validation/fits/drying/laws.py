r"""Laws of the diffusivity that are tried: the package's own, with a power of shrinkage, with an own slope above 60 degC.

.. math:: D = D_{ref}\,\frac{X\,(1 + X_h)}{X + X_h}\left(\frac{1 + 1.3 X}{2.3}\right)^{q}
          \exp\left(\frac{E}{R}\left(\frac{1}{T_{ref}} - \frac{1}{T}\right)\right)

all of it in the dry-mass convention and equal to D_ref at X = 1 and 60 degC; E is another above 60 degC. A local
diffusivity that goes with the power p of shrinkage is q = p - 2 here. "In proportion to X" is X_h without bound.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.constants import GAS_CONSTANT
from dryingsim.properties.diffusivity import LEAN_MEAT, Diffusivity
from dryingsim.typing import Array

SHRINKAGE = 1.3  # dry solid over water density


@dataclass(frozen=True, slots=True, kw_only=True)
class ShapedLaw(Diffusivity):
    """A `Diffusivity` with two more properties.

    Attributes
    ----------
    shrink_power : float
        q of the module's formula.
    energy_above_J_mol : float
        Arrhenius energy above `temperature_K`.
    """

    shrink_power: float
    energy_above_J_mol: float

    def shape(self, moisture_db: Array) -> Array:
        """Power of shrinkage, 1 at X = 1 [-]."""
        return ((1.0 + SHRINKAGE * moisture_db) / (1.0 + SHRINKAGE)) ** self.shrink_power

    def bend(self, temperature: Array) -> Array:
        """What the other energy makes of the diffusivity above `temperature_K` [-]."""
        more = (self.energy_above_J_mol - self.activation_energy_J_mol) / GAS_CONSTANT
        return np.exp(more * np.maximum(1.0 / self.temperature_K - 1.0 / temperature, 0.0))

    def value(self, temperature: Array, moisture_db: Array) -> Array:
        """Diffusivity [m2/s] at temperature [K] and moisture [kg/kg]."""
        base = Diffusivity.value(self, temperature, moisture_db)
        return base * self.shape(moisture_db) * self.bend(temperature)


def law(half_moisture: float, shrink_power: float, energy: float, energy_above: float) -> ShapedLaw:
    """Law at the package's reference state with its reference value; levels go by `diffusivity_factor`."""
    return ShapedLaw(
        reference_m2_s=LEAN_MEAT.reference_m2_s,
        temperature_K=LEAN_MEAT.temperature_K,
        moisture_db=LEAN_MEAT.moisture_db,
        activation_energy_J_mol=energy,
        half_moisture_db=half_moisture,
        convention="dry_mass",
        shrink_power=shrink_power,
        energy_above_J_mol=energy_above,
    )
