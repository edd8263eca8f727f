r"""How a slice shrinks: its volume per kg of dry solid at a moisture.

Meat shrinks by the water that it loses, so the volumes of solid and water add; that is the default. Foods that keep pores
shrink less, and a lesson on exact solutions wants a slab that does not shrink at all: `ShrinkageLaw` is what is asked of
another law, `LinearShrinkage` is the straight line that most published ones are,

.. math:: V/V_0 = a + b\,X/X_0 .
"""

from dataclasses import dataclass
from typing import Annotated, Protocol

import numpy as np

from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

WATER_VOLUME: Annotated[
    float, Evidence("m3/kg", "published", "Choi & Okos water at 50 degC; within 1 % on 0-80 degC")
] = 1.0 / 987.9


class ShrinkageLaw(Protocol):
    """What is asked of a law of shrinkage: any object with this method."""

    def volume(self, moisture_db: Array, /) -> Array:
        """Volume per kg of dry solid [m3/kg], water and pores with it; not falling with moisture.

        Parameters
        ----------
        moisture_db : float or ndarray
            [kg/kg].
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class LinearShrinkage:
    """Volume on a straight line over the moisture.

    Attributes
    ----------
    dry_m3_kg : float
        Of the bone-dry slice, per kg of dry solid [m3/kg].
    water_m3_kg : float
        That each kg of water adds [m3/kg]; 0: it does not shrink.

    Examples
    --------
    >>> raw = 1.0 / 250.0  # 250 kg of dry solid in a m3 of raw food of 3 kg/kg
    >>> law = LinearShrinkage(dry_m3_kg=0.3 * raw, water_m3_kg=0.7 * raw / 3.0)  # V/V0 = 0.3 + 0.7 X/X0
    >>> round(law.volume(3.0) / raw, 6), round(law.volume(0.0) / raw, 6)
    (1.0, 0.3)
    """

    dry_m3_kg: float
    water_m3_kg: float

    def __post_init__(self) -> None:
        if not 0.0 < self.dry_m3_kg < 1.0:
            raise InputError(
                f"LinearShrinkage, dry_m3_kg = {self.dry_m3_kg!r}: m3 per kg of dry solid are expected, as 0.0008"
            )
        if not 0.0 <= self.water_m3_kg < 1.0:
            raise InputError(
                f"LinearShrinkage, water_m3_kg = {self.water_m3_kg!r}: m3 per kg of water are expected, 0 to 0.001 or so"
            )

    def volume(self, moisture_db: Array) -> Array:
        """Volume per kg of dry solid [m3/kg], see `ShrinkageLaw`.

        Parameters
        ----------
        moisture_db : float or ndarray
            [kg/kg].

        Returns
        -------
        float or ndarray
            [m3/kg].
        """
        return self.dry_m3_kg + self.water_m3_kg * moisture_db


def volume_of(law: ShrinkageLaw | None, solid_volume: Array, moisture_db: Array) -> Array:
    """Volume of slices per kg of dry solid, by a law or, where there is none, of solid and water.

    Parameters
    ----------
    law : ShrinkageLaw or None
    solid_volume : float or ndarray
        Of the bone-dry solid [m3/kg]; of no matter to a law.
    moisture_db : float or ndarray
        [kg/kg]; a law is asked for none below zero, whatever a solver tries.

    Returns
    -------
    float or ndarray
        [m3/kg].

    Examples
    --------
    >>> round(volume_of(None, 0.75e-3, 3.0), 6)
    0.003787
    """
    if law is None:
        return solid_volume + WATER_VOLUME * moisture_db
    return law.volume(np.maximum(moisture_db, 0.0))
