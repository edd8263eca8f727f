"""The checker of laws of a user's own: silent on good ones, one sentence for each way of being wrong."""

from dataclasses import dataclass, replace

import numpy as np
import pytest

import dryingsim as ds
from dryingsim.batch.component_checks import laws_named, warn_of_faults
from dryingsim.explore.maps import map_over


@dataclass(frozen=True)
class Law:
    """A diffusivity whose formula is chosen by name."""

    how: str
    convention: str = "local"

    def value(self, temperature, moisture_db):
        good = 1e-9 * np.exp(3000.0 * (1.0 / 333.15 - 1.0 / temperature)) * (moisture_db + 1.0) / 2.0
        return {
            "good": lambda: good,
            "cm2/s": lambda: 1e4 * good,
            "falls": lambda: 1e-18 / good,
            "zero": lambda: good * (moisture_db > 0.1),
            "branch": lambda: good if moisture_db > 0.1 else 0.5 * good,
            "flat": lambda: 1e-9,
            "of moisture alone": lambda: 1e-9 * (moisture_db + 1.0),
            "nan": lambda: good * np.where(moisture_db > 1.0, np.nan, 1.0),
            "mean": lambda: good / np.mean(moisture_db) * np.ones_like(good),
        }[self.how]()


@dataclass(frozen=True)
class Isotherm:
    how: str

    def water_activity(self, temperature, moisture_db):
        ratio = (moisture_db / (0.12 - 5e-4 * (temperature - 303.15))) ** 2.5
        good = ratio / (1.0 + ratio)
        return {
            "good": lambda: good,
            "percent": lambda: 100.0 * good,
            "falls": lambda: 1.0 - 0.999 * good,
            "dry": lambda: 0.9 * good,
            "cooling": lambda: good ** np.exp(0.02 * (temperature - 333.15)),
            "steep": lambda: good ** np.exp(0.02 * (333.15 - temperature)),
        }[self.how]()


@dataclass(frozen=True)
class Volume:
    how: str

    def volume(self, moisture_db):
        good = 8e-4 + 1.02e-3 * moisture_db
        return {
            "good": lambda: good,
            "crowded": lambda: 1e-3 + 5e-4 * moisture_db,
            "density": lambda: 1.0 / good,
            "litres": lambda: 1e3 * good,
            "ratio": lambda: 0.2 + 0.8 * moisture_db / 3.0,
            "falls": lambda: 8e-3 - 1.5e-3 * moisture_db,
            "flat": lambda: 4e-3,
        }[self.how]()


def mild(time_s):
    return 330.0 + 5.0 * np.sin(time_s / 3600.0), 0.2 + 0.0 * time_s


def in_celsius(time_s):
    return mild(time_s)[0] - 273.15, mild(time_s)[1]


def in_percent(time_s):
    return mild(time_s)[0], 100.0 * mild(time_s)[1]


def of_one_number(time_s):
    return 330.0, 0.2


def of_half(time_s):
    return 330.0, 0.2 + 0.0 * time_s[1::2]


@pytest.mark.parametrize(
    "law",
    [
        ds.LEAN_MEAT,
        Law("good"),
        Law("of moisture alone"),
        Isotherm("good"),
        ds.HeldSurface(0.1),
        ds.IsothermalSurface(),
        Volume("good"),
        ds.LinearShrinkage(dry_m3_kg=4e-3, water_m3_kg=0.0),
        mild,
        of_one_number,
    ],
)
def test_good_ones_pass(law):
    assert ds.check_component(law) == ()


@pytest.mark.parametrize(
    ("law", "says"),
    [
        (Law("cm2/s"), "cannot be m2/s of water in a food"),
        (Law("falls"), "falls with temperature"),
        (Law("zero"), "must be above 0"),
        (Law("branch"), "fails on arrays: ValueError"),
        (Law("flat"), "must give an array (5, 8), not ()"),
        (Law("nan"), "gives no finite number"),
        (Law("mean"), "gives another number for an array"),
        (Law("good", convention="own"), "'dry_mass' or 'local' is expected"),
        (Isotherm("percent"), "is not a fraction above 0 and up to 1"),
        (Isotherm("falls"), "falls where moisture rises"),
        (Isotherm("dry"), "only 0.9 at 4 kg/kg"),
        (Isotherm("cooling"), "falls where temperature rises"),
        (Isotherm("steep"), "temperature comes in K"),
        (5e-10, "an object with value(T, X) and convention is expected, not float"),
        (Volume("crowded"), "smaller than that of the water in it"),
        (Volume("density"), "cannot be m3 per kg of dry solid"),
        (Volume("litres"), "cannot be m3 per kg of dry solid"),
        (Volume("ratio"), "cannot be m3 per kg of dry solid"),
        (Volume("falls"), "falls where moisture rises"),
        (Volume("flat"), "arrays of moisture (8,) must give an array (8,), not ()"),
        (in_celsius, "are not those of drying air in K"),
        (in_percent, "are no fractions from 0 to 1"),
        (of_half, "an array of times (289,) must give two arrays (289,), not (289,) and (144,)"),
        (replace, "an array of times [s] must give two arrays, of temperature [K] and of relative humidity"),
    ],
)
def test_what_is_wrong_is_said(law, says):
    faults = ds.check_component(law)
    assert any(says in fault for fault in faults), faults
    assert not any("\n" in fault for fault in faults)


def test_what_cannot_go_to_workers_is_said():
    @dataclass(frozen=True)
    class Inside(Law):
        pass

    class Loose:
        convention = "local"
        value = Law("good").value

    assert any("its class must stand in a module" in fault for fault in ds.check_component(Inside("good")))
    assert any("workers" in fault for fault in ds.check_component(Loose()))


def test_kelvin_made_kelvin_once_more_is_noticed():
    """1/(T + 273.15) in a law that gets kelvin: a student's slip."""

    @dataclass(frozen=True)
    class Twice(Law):
        def value(self, temperature, moisture_db):
            return super().value(temperature + 273.15, moisture_db)

    assert any("cannot be m2/s of water" in fault for fault in ds.check_component(Twice("good")))


def test_no_law_is_told_as_such():
    assert "a law is expected" in ds.check_component(None)[0]


def test_a_run_warns_of_what_the_checker_finds_and_goes_on():
    demo = ds.demo_batch()
    batch = replace(demo, stages=(replace(demo.stages[-1], until=None, duration_s=60.0),))
    with pytest.warns(UserWarning, match="diffusivity, value: .* cannot be m2/s of water in a food"):
        ds.run(
            batch,
            nodes=12,
            components=ds.Components(diffusivity=replace(ds.LEAN_MEAT, reference_m2_s=5.4e-6)),
        )


@dataclass(frozen=True)
class ByMoistureFirst:
    """Arguments swapped: a student's slip."""

    convention: str = "dry_mass"

    def value(self, moisture_db, temperature):
        return ds.LEAN_MEAT.value(temperature, moisture_db)


@dataclass(frozen=True)
class NoNumber:
    convention: str = "dry_mass"

    def value(self, temperature, moisture_db):
        return np.nan * temperature * moisture_db


@pytest.mark.filterwarnings("ignore::UserWarning", "ignore:invalid value:RuntimeWarning")
@pytest.mark.parametrize(
    ("law", "says"),
    [
        (NoNumber(), "diffusivity, value: gives no finite number"),
        (
            ByMoistureFirst(),
            "diffusivity, value: fails on numbers: InputError: temperature = 0.02 is colder than",
        ),
    ],
)
def test_a_solver_that_gives_up_names_laws_of_ones_own(law, says):
    laws = ds.Components(diffusivity=law)
    axes = {"thickness_m": np.array([5e-3])}
    for work in (
        ds.run,
        lambda batch, components: map_over(batch, axes, organism=None, components=components),
    ):
        with pytest.raises(ds.SolverError) as caught:
            work(ds.demo_batch(), components=laws)
        assert "step fell below" in str(caught.value)
        assert f"; own laws: diffusivity {law!r}; ds.check_component says: {says}" in str(caught.value)


def test_laws_without_fault_are_named_too_and_those_of_meat_are_not():
    said = r"^stopped; own laws: diffusivity .*says: it finds no fault$"
    with (
        pytest.raises(ds.SolverError, match=said),
        laws_named(ds.Components(diffusivity=ds.LEAN_MEAT)),
    ):
        raise ds.SolverError("stopped")
    with pytest.raises(ds.SolverError, match=r"^stopped$"), laws_named(ds.Components()):
        raise ds.SolverError("stopped")


def test_a_run_does_not_warn_of_a_law_that_only_workers_cannot_have():
    @dataclass(frozen=True)
    class Inside(Law):
        pass

    warn_of_faults(ds.Components(diffusivity=Inside("good")))
    assert ds.check_component(Inside("good"))
