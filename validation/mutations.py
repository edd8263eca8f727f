"""`python -m validation.mutations [NAME ...] [--all]`: physics broken on purpose; which cases notice?

Each fault is put into a fresh process before anything else of the package is loaded, then the cases run in their
reduced form: first the quick ones, and the slow ones only if none of those notices (with `--all` always). A case notices
if it passes on the sound package and not on the broken one. The run ends with 1 if a fault goes unnoticed.
"""

import argparse
import multiprocessing
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib import import_module
from typing import Any

SLOW = ("coupled_exact", "published_experiments", "challenge_studies", "common_practice", "grid")


def package(name: str) -> Any:
    return import_module(f"dryingsim.{name}")


def scale(module: str, name: str, factor: float) -> Callable[[], None]:
    """A constant, or what a function returns, times a factor."""

    def apply() -> None:
        owner = package(module)
        sound = getattr(owner, name)
        if callable(sound):
            setattr(owner, name, lambda *a, **k: factor * sound(*a, **k))
        else:
            setattr(owner, name, factor * sound)

    return apply


def without_stefan() -> None:
    films = package("properties.films")
    films.log_dry = lambda y: y
    films.log_dry_slope = lambda y: 1.0 + 0.0 * y


def without_ackermann() -> None:
    films = package("properties.films")
    films.ackermann = lambda phi: 1.0 + 0.0 * phi


def without_lewis() -> None:
    films, moist_air = package("properties.films"), package("properties.moist_air")
    sound = films.mass_film_factor

    def broken(t: Any, p: Any, pressure: Any) -> Any:
        return sound(t, p, pressure) * moist_air.lewis_number(t, p, pressure) ** (2.0 / 3.0)

    films.mass_film_factor = broken


def sealed_face_swapped() -> None:
    from dataclasses import replace

    faces = package("model.faces")
    sound = faces.FaceExchange.__init__

    def broken(self: Any, slabs: Any, *rest: Any) -> None:
        sound(self, replace(slabs, vapour_open=slabs.vapour_open[::-1]), *rest)

    faces.FaceExchange.__init__ = broken


def buoyancy_swapped() -> None:
    faces = package("model.faces")
    faces._UPWARD = -faces._UPWARD


def local_diffusivity() -> None:
    from dataclasses import replace

    module = package("properties.diffusivity")
    module.LEAN_MEAT = replace(module.LEAN_MEAT, convention="local")


def half_activation_energy() -> None:
    from dataclasses import replace

    module = package("properties.diffusivity")
    energy = 0.5 * module.LEAN_MEAT.activation_energy_J_mol
    module.LEAN_MEAT = replace(module.LEAN_MEAT, activation_energy_J_mol=energy)


def salt_ignored() -> None:
    from dataclasses import replace

    build = package("model.build")
    sound = build.recipe_of

    def broken(batch: Any) -> Any:
        recipe, solids, held = sound(batch)
        return replace(recipe, salt=0.0), solids, held

    build.recipe_of = broken


def salt_law_ignored() -> None:
    curve = package("properties.water_activity")
    sound = curve.sodium_chloride_molality
    curve.sodium_chloride_molality = lambda y: tuple(0.9 * part for part in sound(y))


def emissivity_nil() -> None:
    package("model.build").EMISSIVITY = 0.0


def z_ten_percent() -> None:
    from dataclasses import replace

    organisms = package("batch.catalog.organisms")
    sound = organisms.resistance

    def broken(*given: Any) -> Any:
        kind = sound(*given)
        names = [name for name in kind.__dataclass_fields__ if name.startswith("z")]
        return replace(kind, **{name: 1.1 * getattr(kind, name) for name in names})

    organisms.resistance = broken


def no_edges() -> None:
    edges = package("model.edges")
    sound = edges.EdgeExchange.__init__

    def broken(self: Any, *given: Any) -> None:
        sound(self, *given)
        self.passing = 0.0 * self.passing

    edges.EdgeExchange.__init__ = broken


def no_exhaustion() -> None:
    package("model.faces").exchanged = lambda film, carrying: film


def stepper_weights() -> None:
    stepper = package("kernels.rosenbrock")
    stepper._M = stepper._M * (1.0 + 1e-3 * (1.0 - 2.0 * (stepper.np.arange(4) % 2)))


def no_altitude() -> None:
    package("properties.moist_air").standard_pressure = lambda altitude_m: 101325.0 + 0.0 * altitude_m


def sorption_doubled() -> None:
    curve = package("properties.water_activity")
    sound = curve.net_heat_of_sorption
    curve.net_heat_of_sorption = lambda y: 2.0 * sound(y)


def speed_in_km_h() -> None:
    films = package("properties.films")
    sound = films.reynolds
    films.reynolds = lambda speed, *rest: sound(3.6 * speed, *rest)


@dataclass(frozen=True)
class Mutation:
    """A fault and how it is put in."""

    name: str
    apply: Callable[[], None]


MUTATIONS = (
    Mutation("latent heat +5 %", scale("properties.water", "VAPOUR_ENTHALPY_0C", 1.05)),
    Mutation("saturation pressure -3 %", scale("properties.water", "saturation_pressure", 0.97)),
    Mutation("film (Stefan) correction dropped", without_stefan),
    Mutation("Ackermann correction dropped", without_ackermann),
    Mutation("Lewis factor dropped", without_lewis),
    Mutation("sealed face on the wrong side", sealed_face_swapped),
    Mutation("still air: faces swapped", buoyancy_swapped),
    Mutation("air speed in km/h taken as m/s", speed_in_km_h),
    Mutation("radiation forgotten in the balances", scale("constants", "STEFAN_BOLTZMANN", 0.0)),
    Mutation("emissivity of the meat 0", emissivity_nil),
    Mutation("fitted diffusivity used as a local one", local_diffusivity),
    Mutation("activation energy halved", half_activation_energy),
    Mutation("salt of the batch ignored", salt_ignored),
    Mutation("salt solutions 10 % off", salt_law_ignored),
    Mutation("heat of sorption doubled", sorption_doubled),
    Mutation("edges of strips forgotten", no_edges),
    Mutation("altitude ignored", no_altitude),
    Mutation("air past the trays never spent", no_exhaustion),
    Mutation("door flow +10 %", scale("model.chamber", "slot_flow", 1.1)),
    Mutation("weights of the stepper off by 0.1 %", stepper_weights),
    Mutation("z of the organisms +10 %", z_ten_percent),
)


def passing_cases(subjects: Sequence[str], slow: bool) -> dict[str, bool]:
    """Run cases in their reduced form; name to whether it passes, for those not known to fail."""
    from validation.case import run
    from validation.subjects import cases_of

    found = {}
    for subject in subjects:
        for case in cases_of(subject):
            if case.slow != slow or case.known_failure or not case.available or case.requires == "fipy":
                continue
            try:
                passed = run(case, full=False).passed
            except Exception:  # whatever a broken package does, the case has noticed
                passed = False
            found[f"{subject}: {case.name}"] = passed
    return found


def _child(mutation: Mutation | None, slow: bool, channel: Any) -> None:
    import numpy as np

    np.seterr(all="ignore")
    try:
        if mutation is not None:
            mutation.apply()
        from validation.subjects import SUBJECTS

        channel.send(passing_cases(SLOW if slow else SUBJECTS, slow))
    except Exception as error:  # the package does not even load
        channel.send({f"loading: {error}": False})


def in_fresh_process(mutation: Mutation | None, slow: bool) -> dict[str, bool]:
    """Which cases pass with a mutation (None: the sound package), in a process of its own."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    name = None if mutation is None else mutation.name
    worker = context.Process(target=_by_name, args=(name, slow, there))
    worker.start()
    there.close()
    answer: dict[str, bool] = here.recv()
    worker.join()
    return answer


def _by_name(name: str | None, slow: bool, channel: Any) -> None:
    _child(next((m for m in MUTATIONS if m.name == name), None), slow, channel)


def noticed(sound: dict[str, bool], broken: dict[str, bool]) -> list[str]:
    """Cases that pass on the sound package only."""
    loading = [name for name in broken if name.startswith("loading")]
    return loading + [name for name, good in sound.items() if good and not broken.get(name, True)]


def main() -> int:
    """Run the mutations; 1 if one goes unnoticed."""
    parser = argparse.ArgumentParser(prog="python -m validation.mutations", description=__doc__)
    parser.add_argument("name", nargs="*", help="parts of the names of mutations; all if none is given")
    parser.add_argument("--all", action="store_true", help="run the slow cases in any case")
    options = parser.parse_args()
    chosen = [m for m in MUTATIONS if not options.name or any(part in m.name for part in options.name)]
    sound = {slow: in_fresh_process(None, slow) for slow in (False, True)}
    missed = []
    for mutation in chosen:
        catchers = noticed(sound[False], in_fresh_process(mutation, False))
        if options.all or not catchers:
            catchers += noticed(sound[True], in_fresh_process(mutation, True))
        print(f"{mutation.name}: {'noticed by ' + str(len(catchers)) if catchers else 'NOT NOTICED'}")
        for name in catchers[:6]:
            print(f"    {name}")
        if len(catchers) > 6:
            print(f"    and {len(catchers) - 6} more")
        if not catchers:
            missed.append(mutation.name)
    print(f"score: {len(chosen) - len(missed)} of {len(chosen)} noticed")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
