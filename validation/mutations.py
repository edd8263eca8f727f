"""Physics broken on purpose, and which cases notice: `python -m validation.mutations [NAME ...] [--all]`.

Each fault is put into a fresh process before anything else of the package is loaded. Then the cases of the subjects
that the fault concerns run in their reduced form; with `--all` those of every subject, which takes a minute a fault. A
case notices if it passes on the sound package and not on the broken one. The run ends with 1 if a fault goes unnoticed.
"""

import argparse
import multiprocessing
import sys
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from importlib import import_module
from typing import Any

import numpy as np


def package(name: str) -> Any:
    return import_module(f"dryingsim.{name}")


def put(module: str, **broken: Any) -> None:
    """Put something else in place of what a module holds; a name that it does not hold is an error."""
    owner = package(module)
    for name, value in broken.items():
        getattr(owner, name)
        setattr(owner, name, value)


def scale(module: str, name: str, factor: float) -> Callable[[], None]:
    """A constant, or what a function returns, times a factor."""

    def apply() -> None:
        sound = getattr(package(module), name)
        broken = (lambda *a, **k: factor * sound(*a, **k)) if callable(sound) else factor * sound
        put(module, **{name: broken})

    return apply


def without_stefan() -> None:
    put("properties.films", log_dry=lambda y: y, log_dry_slope=lambda y: 1.0 + 0.0 * y)


def without_ackermann() -> None:
    put("properties.films", ackermann=lambda phi: 1.0 + 0.0 * phi)


def without_lewis() -> None:
    films, air_transport = package("properties.films"), package("properties.air_transport")
    sound = films.mass_film_factor

    def broken(t: Any, p: Any, pressure: Any) -> Any:
        return sound(t, p, pressure) * air_transport.lewis_number(t, p, pressure) ** (2.0 / 3.0)

    films.mass_film_factor = broken


def sealed_face_swapped() -> None:
    faces = package("model.faces")
    sound = faces.FaceExchange.__init__

    def broken(self: Any, slabs: Any, *rest: Any) -> None:
        sound(self, replace(slabs, vapour_open=slabs.vapour_open[::-1]), *rest)

    faces.FaceExchange.__init__ = broken


def buoyancy_swapped() -> None:
    faces = package("model.faces")
    faces._UPWARD = -faces._UPWARD


def local_diffusivity() -> None:
    module = package("properties.diffusivity")
    module.LEAN_MEAT = replace(module.LEAN_MEAT, convention="local")


def half_activation_energy() -> None:
    module = package("properties.diffusivity")
    energy = 0.5 * module.LEAN_MEAT.activation_energy_J_mol
    module.LEAN_MEAT = replace(module.LEAN_MEAT, activation_energy_J_mol=energy)


def salt_ignored() -> None:
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
    put("model.build", EMISSIVITY=0.0)


def z_ten_percent() -> None:
    model = package("judge.heat_model")
    sound = model.from_table

    def broken(data: Any) -> Any:
        read = sound(data)
        read.mean[read.names.index("slope")] /= 1.1
        return read

    model.from_table = broken


def no_edges() -> None:
    edges = package("model.edges")
    sound = edges.EdgeExchange.__init__

    def broken(self: Any, *given: Any) -> None:
        sound(self, *given)
        self.passing *= 0.0

    edges.EdgeExchange.__init__ = broken


def no_exhaustion() -> None:
    put("model.faces", exchanged=lambda film, carrying: film)


def stepper_weights() -> None:
    weights = package("kernels.rosenbrock").RESULT
    put("kernels.rosenbrock", RESULT=weights * (1.0 + 1e-3 * (1.0 - 2.0 * (np.arange(4) % 2))))


def no_altitude() -> None:
    put("properties.atmosphere", standard_pressure=lambda altitude_m: 101325.0 + 0.0 * altitude_m)


def sorption_doubled() -> None:
    curve = package("properties.water_activity")
    sound = curve.net_heat_of_sorption
    curve.net_heat_of_sorption = lambda y: 2.0 * sound(y)


def speed_in_km_h() -> None:
    forced_convection = package("properties.forced_convection")
    sound = forced_convection.reynolds
    forced_convection.reynolds = lambda speed, *rest: sound(3.6 * speed, *rest)


@dataclass(frozen=True)
class Mutation:
    """A fault and how it is put in."""

    name: str
    apply: Callable[[], None]
    subjects: tuple[str, ...]  # that it concerns


EXPERIMENTS = ("published_experiments", "published_trends")
AIR, WET_FACES, FACES = ("moist_air",), ("drying_rate",), ("faces", "films")
MUTATIONS = (
    Mutation("latent heat +5 %", scale("properties.water", "VAPOUR_ENTHALPY_0C", 1.05), AIR + WET_FACES),
    Mutation("saturation pressure -3 %", scale("properties.water", "saturation_pressure", 0.97), AIR + FACES),
    Mutation("film (Stefan) correction dropped", without_stefan, FACES + WET_FACES),
    Mutation("Ackermann correction dropped", without_ackermann, FACES + WET_FACES),
    Mutation("Lewis factor dropped", without_lewis, FACES + WET_FACES),
    Mutation("sealed face on the wrong side", sealed_face_swapped, FACES + WET_FACES),
    Mutation("still air: faces swapped", buoyancy_swapped, FACES),
    Mutation("air speed in km/h taken as m/s", speed_in_km_h, FACES),
    Mutation("radiation forgotten", scale("constants", "STEFAN_BOLTZMANN", 0.0), FACES + WET_FACES),
    Mutation("emissivity of the meat 0", emissivity_nil, FACES),
    Mutation("fitted diffusivity used as a local one", local_diffusivity, EXPERIMENTS),
    Mutation("activation energy halved", half_activation_energy, EXPERIMENTS),
    Mutation("salt of the batch ignored", salt_ignored, FACES),
    Mutation("salt solutions 10 % off", salt_law_ignored, ("water_activity",)),
    Mutation("heat of sorption doubled", sorption_doubled, ("water_activity",)),
    Mutation("edges of strips forgotten", no_edges, ("diffusion",)),
    Mutation("altitude ignored", no_altitude, AIR),
    Mutation("air past the trays never spent", no_exhaustion, ("appliance",)),
    Mutation("door flow +10 %", scale("model.door", "slot_flow", 1.1), ("appliance",)),
    Mutation("weights of the stepper off by 0.1 %", stepper_weights, ("diffusion", "coupled_exact")),
    Mutation("z of the organisms +10 %", z_ten_percent, ("challenge_studies",)),
    Mutation("growth 10 % slower", scale("judge.growth", "growth_rate", 0.9), ("growth",)),
    Mutation("federal times 1 % short", scale("judge.federal_table", "required_time", 0.99), ("federal",)),
)


def passing_cases(subjects: Sequence[str]) -> dict[str, bool]:
    """Run cases in their reduced form; name to whether it passes, for those not known to fail."""
    from validation.case import run
    from validation.subjects import cases_of

    found = {}
    for subject in subjects:
        for case in cases_of(subject):
            if case.known_failure or not case.available or case.requires == "fipy":
                continue
            try:
                passed = run(case, full=False).passed
            except Exception:  # whatever a broken package does, the case has noticed
                passed = False
            found[f"{subject}: {case.name}"] = passed
    return found


def _work(name: str | None, subjects: tuple[str, ...], channel: Any) -> None:
    np.seterr(all="ignore")
    for mutation in MUTATIONS:
        if mutation.name == name:
            mutation.apply()  # ends the process if the package has nothing of that name any more
    try:
        channel.send(passing_cases(subjects))
    except Exception as error:  # the package does not even load
        channel.send({f"loading: {error}": False})


def in_fresh_process(name: str | None, subjects: tuple[str, ...]) -> dict[str, bool]:
    """Which cases pass with the mutation of a name (None: the sound package), in a process of its own."""
    context = multiprocessing.get_context("spawn")
    here, there = context.Pipe()
    worker = context.Process(target=_work, args=(name, subjects, there))
    worker.start()
    there.close()
    try:
        answer: dict[str, bool] = here.recv()
    except EOFError:
        raise RuntimeError(
            f"the fault {name!r} cannot be put in: what it breaks has another name now"
        ) from None
    worker.join()
    return answer


def noticed(sound: dict[str, bool], broken: dict[str, bool]) -> list[str]:
    """Cases that pass on the sound package only."""
    loading = [name for name in broken if name.startswith("loading")]
    return loading + [name for name, good in sound.items() if good and not broken.get(name, True)]


def main() -> int:
    """Run the mutations; 1 if one goes unnoticed."""
    parser = argparse.ArgumentParser(prog="python -m validation.mutations", description=__doc__)
    parser.add_argument("name", nargs="*", help="parts of the names of mutations; all if none is given")
    parser.add_argument("--all", action="store_true", help="run the cases of every subject")
    options = parser.parse_args()
    chosen = [m for m in MUTATIONS if not options.name or any(part in m.name for part in options.name)]
    if options.all:
        from validation.subjects import SUBJECTS

        chosen = [replace(m, subjects=SUBJECTS) for m in chosen]
    needed = tuple(dict.fromkeys(subject for m in chosen for subject in m.subjects))
    sound = in_fresh_process(None, needed)
    missed = []
    for mutation in chosen:
        catchers = noticed(sound, in_fresh_process(mutation.name, mutation.subjects))
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
