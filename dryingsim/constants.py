"""Physical constants in SI, each with its source."""

GAS_CONSTANT = 8.314462618  # J/(mol K), exact since the 2019 SI (CODATA 2018)
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4), exact since the 2019 SI (CODATA 2018)
MOLAR_MASS_WATER = 18.015268e-3  # kg/mol, IAPWS-95
MOLAR_MASS_AIR = 28.966e-3  # kg/mol, dry air, ASHRAE Fundamentals (2009) ch. 1
MASS_RATIO = MOLAR_MASS_WATER / MOLAR_MASS_AIR  # 0.62194: vapour to dry air, per mole
GRAVITY = 9.80665  # m/s2, standard gravity
ZERO_CELSIUS = 273.15  # K
STANDARD_PRESSURE = 101325.0  # Pa
