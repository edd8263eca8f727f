"""A food other than meat: slices of tapioca root against a published drying curve. `python examples/own_food.py`.

The curve: X/Xc of slices 3 mm thick, dried from both sides in constant air, from when the rate begins to fall (Geankoplis,
Transport Processes and Unit Operations, example 9.9-2, as re-run in public notebooks). The book says nothing of the air:
1 m/s of warmed room air is taken, at three temperatures. What the slices are made of:

- water and starch of raw cassava (USDA, from memory);
- sorption: the GAB equation of potato, another starchy tuber (Kiranoudis et al. 1993, as compiled in public code; 30-60 degC);
- shrinkage: the volumes of starch (1500 kg/m3, from memory) and of water add; that of potato falls "almost linearly with
  moisture content" (Heat Transfer Engineering 35:1288, 2014, abstract);
- diffusivity: the book's own, 3.44e-10 m2/s, which it read off this curve at X/Xc = 0.2 as if the slice were evenly moist
  when the rate begins to fall; then the one with which the simulation meets the reading at 0.6 h in air of 60 degC; then the
  law of potato of Chemkhi et al. (2004, as compiled in public code), which knows nothing of the curve and dries several
  times as fast.

The readings scatter by 0.012 (root mean square) about the smoothest simple curve through them, exp(-k t^n).
"""

from dataclasses import dataclass

import numpy as np

import dryingsim as ds

GAS = 8.314e-3  # kJ/(mol K)
HOURS = np.array([0.15, 0.27, 0.40, 0.60, 0.80, 0.94, 1.07])
SHARES = np.array([0.80, 0.63, 0.55, 0.40, 0.30, 0.23, 0.18])  # X/Xc
ROOT = ds.Composition(water=0.597, protein=0.014, fat=0.003, carbohydrate=0.380, ash=0.006)
VOLUMES = ds.LinearShrinkage(dry_m3_kg=1.0 / 1500.0, water_m3_kg=1.0 / 990.0)
SURFACE_DRIES = 0.95  # water activity of the surface at which the rate begins to fall


@dataclass(frozen=True)
class PotatoSorption:
    """GAB with all three constants by Arrhenius, solved for the water activity."""

    def water_activity(self, temperature, moisture_db):
        """The positive root of the quadratic in K a, and 1 where the equation passes it."""
        cold = 1.0 / (GAS * temperature)
        monolayer = 0.056 * np.exp(1.39 * cold)
        c, k = 0.017 * np.exp(20.0 * cold), 0.94 * np.exp(-0.92 * cold)
        half = 0.5 * (c * (1.0 - monolayer / moisture_db) - 2.0)
        return np.minimum(1.0 / (k * (np.sqrt(half * half + c - 1.0) - half)), 1.0)


@dataclass(frozen=True)
class PotatoDiffusivity:
    """D of a slab that shrinks, so a local one."""

    convention: str = "local"

    def value(self, temperature, moisture_db):
        """[m2/s]."""
        return 1.29e-6 * np.exp(-0.0725 / moisture_db - 2044.0 / temperature)


def constant(reference_m2_s):
    """D of the book: one number, from a slab taken to keep its thickness."""
    return ds.Diffusivity(
        reference_m2_s=reference_m2_s,
        temperature_K=333.15,
        moisture_db=1.0,
        activation_energy_J_mol=0.0,
        half_moisture_db=0.0,
        convention="dry_mass",
    )


def slices(air_K):
    """Slices of tapioca root in room air warmed to a temperature."""
    air = ds.Air(temperature_K=air_K, humidity=ds.Humidity(kind="room"), speed_m_s=1.0)
    root = ds.Meat(
        name="tapioca root",
        composition=ROOT,
        form="sliced",
        classes=(ds.ThicknessClass(thickness_m=0.003, share=1.0),),
        length_m=0.05,
        width_m=0.05,
        weight_kg=0.5,
        temperature_K=293.15,
    )
    room = ds.Room(temperature_K=293.15, relative_humidity=0.5)
    stage = ds.Stage(name="hot air", air=air, duration_s=3.0 * 3600.0)
    return ds.Batch(name="tapioca", meat=root, room=room, stages=(stage,))


def computed_shares(diffusivity, air_K):
    """X/Xc at the times of the readings, both moistures above that of equilibrium."""
    sorption = PotatoSorption()
    laws = ds.Components(diffusivity=diffusivity, sorption=sorption, shrinkage=VOLUMES)
    history = ds.run(slices(air_K), components=laws, interval_s=30.0)
    moistures = np.linspace(0.005, 0.3, 3000)
    humidity = history.air_vapour_pressure_Pa[0, 0] / ds.properties.water.saturation_pressure(air_K)
    free = history.mean_moisture_db[:, 0] - np.interp(
        humidity, sorption.water_activity(air_K, moistures), moistures
    )
    begun = int(np.argmax(history.surface_water_activity[:, 0, 0] < SURFACE_DRIES))
    since_h = (history.time_s - history.time_s[begun]) / 3600.0
    return np.interp(HOURS, since_h, free / free[begun])


def main():
    """Print how far each is from the readings."""
    laws = {
        "the book's D, 3.44e-10 m2/s": constant(3.44e-10),
        "D 3.9e-10 m2/s, read at 0.6 h": constant(3.9e-10),
        "potato's law, read elsewhere": PotatoDiffusivity(),
    }
    for law in (*laws.values(), PotatoSorption(), VOLUMES):
        for fault in ds.check_component(law):
            print("fault:", fault)
    print("X/Xc, computed less read: root mean square and largest; the readings scatter by 0.012")
    for name, law in laws.items():
        for celsius in (50.0, 60.0, 70.0):
            apart = computed_shares(law, celsius + 273.15) - SHARES
            largest = apart[np.argmax(np.abs(apart))]
            print(f"{name:30}  air {celsius:.0f} degC  {np.sqrt(np.mean(apart**2)):.3f}  {largest:+.3f}")


if __name__ == "__main__":
    main()
