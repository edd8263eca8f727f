"""A GAB isotherm of one's own in the place of meat's curve: `python examples/own_isotherm.py`.

It prints when the demonstration batch is dry by either. The monolayer is that of dried beef (0.036-0.049 kg/kg dry matter,
Yusuf 2024, abstract); C and K are those of the package's working curve for the protein of meat. Unlike that curve it has
no salt in it, and none of the meat's own solutes.
"""

from dataclasses import dataclass

import numpy as np

import dryingsim as ds


@dataclass(frozen=True)
class Gab:
    """X = X_m C K a / ((1 - K a)(1 - K a + C K a)), solved for the water activity a."""

    monolayer_db: float
    c: float
    k: float
    heat_J_mol: float = 0.0  # by which C falls with temperature

    def water_activity(self, temperature, moisture_db):
        """The positive root of the quadratic in z = K a, and 1 where the equation passes it."""
        c = self.c * np.exp(self.heat_J_mol / 8.314 * (1.0 / temperature - 1.0 / 298.15))
        ratio = self.monolayer_db / moisture_db
        half = 0.5 * (c * (1.0 - ratio) - 2.0)
        z = 1.0 / (np.sqrt(half * half + c - 1.0) - half)
        return np.minimum(z / self.k, 1.0)


def main() -> None:
    """Print when the batch is dry by either curve."""
    gab = Gab(monolayer_db=0.045, c=11.0, k=0.93, heat_J_mol=5000.0)
    for fault in ds.check_component(gab):
        print("fault:", fault)
    batch = ds.demo_batch()
    for name, components in (("meat's own curve", None), ("GAB", ds.Components(sorption=gab))):
        done_s = ds.judge_batch(ds.run(batch, components=components)).doneness.batch.expected_s
        print(f"{name}: dry after {done_s / 3600.0:.2f} h" if done_s else f"{name}: not dry")


if __name__ == "__main__":
    main()
