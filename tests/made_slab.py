"""A diffusivity that depends on nothing, for slabs with exact answers."""

from dryingsim.properties.diffusivity import Diffusivity

CONSTANT = Diffusivity(
    reference_m2_s=3e-10,
    temperature_K=333.15,
    moisture_db=1.0,
    activation_energy_J_mol=0.0,
    half_moisture_db=0.0,
    convention="dry_mass",
)
