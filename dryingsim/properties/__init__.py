"""Pure functions of arrays: water, moist air, meat, water activity, diffusivity, films."""
