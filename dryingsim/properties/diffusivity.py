r"""Moisture diffusivity of lean meat: Arrhenius in temperature, falling when little moisture is left.

**Which constant is meant?** Published values are slopes fitted to drying curves with a *constant thickness*. Meat
shrinks by about two thirds, so such a number is not a local diffusivity: in a shrinking slab it is the constant in
the dry-mass coordinate, :math:`D\rho_{d0}^2`. Using it as a local D dries a slice twice as fast. The
convention is therefore part of the model (`Diffusivity.convention`), never a default hidden in the solver.
"""

from dataclasses import dataclass, replace
from typing import Annotated, Literal, Protocol, get_args

import numpy as np

from dryingsim.constants import GAS_CONSTANT
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

Convention = Literal["dry_mass", "local"]
_STEP_K: Annotated[
    float, Evidence("K", "numerical", "over which the slope of a law by temperature is taken")
] = 1.0
_LEAST_ENERGY: Annotated[
    float, Evidence("J/mol", "estimate", "foods have 10 to 60 kJ/mol; less than this is kJ typed for J")
] = 1e3


class DiffusivityLaw(Protocol):
    """What the solver asks of a diffusivity: any object with these two.

    Attributes
    ----------
    convention : "dry_mass" or "local"
        See `Diffusivity`.
    """

    @property
    def convention(self) -> Convention:
        """Which of the two constants it is."""

    def value(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Diffusivity [m2/s] at temperature [K] and moisture [kg/kg]; arrays broadcast.

        Parameters
        ----------
        temperature, moisture_db : float or ndarray
            [K], [kg/kg].
        """


@dataclass(frozen=True, slots=True, kw_only=True)
class Diffusivity:
    r"""D(T, X) = D_ref exp(-E/R (1/T - 1/T_ref)) X (X_ref + X_h) / ((X + X_h) X_ref).

    Attributes
    ----------
    reference_m2_s : float
        Value at `temperature_K` and `moisture_db` [m2/s].
    activation_energy_J_mol : float
        Arrhenius energy [J/mol].
    half_moisture_db : float or ndarray
        X_h [kg/kg]: far below it D falls in proportion to X; zero switches the fall off.
    convention : "dry_mass" or "local"
        "dry_mass": fitted at constant thickness, used as D rho_d0^2; "local": true diffusivity, used as D rho_d(X)^2.
    """

    reference_m2_s: float
    temperature_K: float
    moisture_db: float
    activation_energy_J_mol: float
    half_moisture_db: Array
    convention: Convention

    def __post_init__(self) -> None:
        if self.convention not in get_args(Convention):
            raise InputError(
                f"Diffusivity, convention = {self.convention!r}: 'dry_mass' or 'local' is expected"
            )
        check_kelvin(self.temperature_K, "Diffusivity, temperature_K")
        if 0.0 < abs(self.activation_energy_J_mol) < _LEAST_ENERGY:
            raise InputError(
                f"Diffusivity, activation_energy_J_mol = {self.activation_energy_J_mol!r} is next to none: J/mol are expected, "
                f"as 32000; {self.activation_energy_J_mol:g} kJ/mol are {1e3 * self.activation_energy_J_mol:g} J/mol"
            )
        if not self.reference_m2_s > 0.0:
            raise InputError(
                f"Diffusivity, reference_m2_s = {self.reference_m2_s!r}: a number above 0 is expected"
            )

    def value(self, temperature: Array, moisture_db: Array) -> Array:
        """Diffusivity [m2/s] at temperature [K] and moisture [kg/kg]; arrays broadcast.

        Parameters
        ----------
        temperature : float or ndarray
            Temperature [K].
        moisture_db : float or ndarray
            Moisture [kg/kg].

        Returns
        -------
        float or ndarray
            Diffusivity [m2/s].

        Examples
        --------
        >>> f"{LEAN_MEAT.value(313.15, 1.0):.3g}"
        '2.58e-10'
        """
        check_kelvin(temperature)
        warm = self.activation_energy_J_mol / GAS_CONSTANT * (1.0 / self.temperature_K - 1.0 / temperature)
        scale = self.reference_m2_s * (1.0 + self.half_moisture_db / self.moisture_db)
        return scale * np.exp(warm) * moisture_db / (moisture_db + self.half_moisture_db)


@dataclass(frozen=True, slots=True)
class Multiplied:
    """A law times a factor."""

    law: DiffusivityLaw
    factor: float

    @property
    def convention(self) -> Convention:
        """That of the law."""
        return self.law.convention

    def value(self, temperature: Array, moisture_db: Array, /) -> Array:
        """Diffusivity [m2/s], see `DiffusivityLaw`.

        Parameters
        ----------
        temperature, moisture_db : float or ndarray
            [K], [kg/kg].
        """
        return self.factor * self.law.value(temperature, moisture_db)


def multiplied(law: DiffusivityLaw, factor: float) -> DiffusivityLaw:
    """Return a law times a factor.

    Parameters
    ----------
    law : DiffusivityLaw
    factor : float
        [-].

    Returns
    -------
    DiffusivityLaw

    Examples
    --------
    >>> multiplied(LEAN_MEAT, 2.0).reference_m2_s
    1.08e-09
    """
    if isinstance(law, Diffusivity):
        return replace(law, reference_m2_s=law.reference_m2_s * factor)
    return law if factor == 1.0 else Multiplied(law, factor)


def activation_energy(law: DiffusivityLaw, temperature: Array, moisture_db: Array) -> Array:
    """R T^2 dln(D)/dT [J/mol]: of a law other than `Diffusivity` by a difference.

    Parameters
    ----------
    law : DiffusivityLaw
    temperature, moisture_db : float or ndarray
        [K], [kg/kg].

    Returns
    -------
    float or ndarray
        [J/mol].

    Examples
    --------
    >>> own = Multiplied(LEAN_MEAT, 2.0)
    >>> activation_energy(LEAN_MEAT, 330.0, 1.0), round(float(activation_energy(own, 330.0, 1.0)), -1)
    (32000.0, 32000.0)
    """
    check_kelvin(temperature)
    if type(law) is Diffusivity:
        return law.activation_energy_J_mol
    warmer, colder = temperature + 0.5 * _STEP_K, temperature - 0.5 * _STEP_K
    rise = np.log(law.value(warmer, moisture_db) / law.value(colder, moisture_db))
    energy: Array = GAS_CONSTANT * temperature * temperature * rise / _STEP_K
    return energy


def falling(law: DiffusivityLaw, temperature: Array, moisture_db: Array) -> Array:
    """How a diffusivity depends on moisture, up to a constant factor.

    Parameters
    ----------
    law : DiffusivityLaw
    temperature, moisture_db : float or ndarray
        [K], [kg/kg].

    Returns
    -------
    float or ndarray
        Up to a factor [-] or [m2/s].

    Examples
    --------
    >>> falling(LEAN_MEAT, 330.0, 0.34)
    0.5
    """
    check_kelvin(temperature)
    if type(law) is Diffusivity:
        return moisture_db / (moisture_db + law.half_moisture_db)
    return law.value(temperature, moisture_db)


_LEAN_MEAT_EVIDENCE = """\
Lean meat in hot air. The reference value follows a rule, not a choice: the geometric mean over laboratories of the
(geometric) middles of their published ranges for beef in hot air, brought to 60 degC with the energy below. Fitted
slopes span the whole curve, mean moisture about 1 kg/kg.
  Mewa et al. 2018   0.423-5.59e-10 at 30-60 degC (abstract; middle 1.54e-10 at 45 degC)      -> 2.65e-10
  Muga et al. c.2021 1.60-2.28e-10 at 30-40 degC (abstract; middle 1.91e-10 at 35 degC)       -> 4.88e-10
  Ismail & Kocabay 2018 4.56-11.98e-10 at 40-60 degC (abstract; middle 7.39e-10 at 50 degC)   -> 10.57e-10
  Trujillo et al. 2007 2.87e-10 at 40 degC (formula from memory)                              -> 6.00e-10
Geometric mean 5.35e-10; spread between laboratories 2.7-10.6e-10, a factor 2 either way.
Energy: median of 28.2 (Muga), 31.2 (Trujillo, from memory), 32.8 (Xie et al. 2015), 42.9 (Ismail & Kocabay).
All of it was measured at 10-60 degC: above, the Arrhenius law is extrapolated.
The level is right by its times rather than by this rule. Fitted through the whole simulation to all published times and
curves it comes out within 4-10e-10, and no law with fitted constants predicts studies left out better than this one
(validation/fits/drying/report.md). A slope reads as about half of the D of such a law, and some printed ones are larger than
any D could give: two errors that cancel in the mean.
Half moisture: an estimate, range 0.1-1. The few values at low moisture do not agree: fish muscle falls from 3.4 to
0.81e-10 over X 0.30-0.05 at 30 degC, which alone would give 0.53, but lies three times above this model; freeze-
dried beef with 0.307e-10 at X 0.127 and 25 degC (both Jangam & Mujumdar, compilation, table 1.6) lies 1.65 times
below it."""
LEAN_MEAT: Annotated[Diffusivity, Evidence("m2/s", "derived", _LEAN_MEAT_EVIDENCE)] = Diffusivity(
    reference_m2_s=5.4e-10,
    temperature_K=333.15,
    moisture_db=1.0,
    activation_energy_J_mol=32.0e3,
    half_moisture_db=0.34,
    convention="dry_mass",
)

LABORATORY_SPREAD: Annotated[
    tuple[float, float],
    Evidence(
        "-", "derived", "factor on `reference_m2_s`: the ends of the four laboratories behind `LEAN_MEAT`"
    ),
] = (0.5, 2.0)
