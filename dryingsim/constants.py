"""Physical constants in SI, each with its evidence."""

from typing import Annotated

from dryingsim.evidence import Evidence

GAS_CONSTANT: Annotated[float, Evidence("J/(mol K)", "exact", "since the 2019 SI (CODATA 2018)")] = (
    8.314462618
)
STEFAN_BOLTZMANN: Annotated[float, Evidence("W/(m2 K4)", "exact", "since the 2019 SI (CODATA 2018)")] = (
    5.670374419e-8
)
MOLAR_MASS_WATER: Annotated[float, Evidence("kg/mol", "published", "IAPWS-95")] = 18.015268e-3
MOLAR_MASS_AIR: Annotated[
    float, Evidence("kg/mol", "published", "dry air, ASHRAE Fundamentals (2009) ch. 1")
] = 28.966e-3
MASS_RATIO: Annotated[float, Evidence("-", "derived", "vapour to dry air, per mole")] = (
    MOLAR_MASS_WATER / MOLAR_MASS_AIR
)
GRAVITY: Annotated[float, Evidence("m/s2", "exact", "standard gravity")] = 9.80665
ZERO_CELSIUS: Annotated[float, Evidence("K", "exact", "definition of the Celsius scale")] = 273.15
STANDARD_PRESSURE: Annotated[float, Evidence("Pa", "exact", "definition of the standard atmosphere")] = (
    101325.0
)
COLDEST_K: Annotated[
    float,
    Evidence(
        "K",
        "published",
        "vapour pressure over ice holds from -100 degC up; ASHRAE Fundamentals (2009) ch. 1 eq. 5",
    ),
] = 173.15
