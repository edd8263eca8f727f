"""The judgement on log reductions: grades, least-reduced places, home advice, and the lesson of the wet bulb."""

import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.drying_evidence import activity_error
from dryingsim.errors import InputError
from dryingsim.judge.exposed import drier_side, exposed_nodes
from dryingsim.judge.grades import GRADES
from dryingsim.judge.heat_resistance import lower_bound
from dryingsim.judge.reductions import judge_lethality
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.quantities import logs
from dryingsim.show.lethality.finding_words import sentence
from dryingsim.show.lethality.words import CAUTIONS, MEANINGS, home_advice, places, reason

CELSIUS = 273.15


def history(celsius, aw, minutes=60.0, nodes=5, slabs=2):
    time = np.linspace(0.0, 60.0 * minutes, 61)
    shape = (61, nodes, slabs)
    t = np.broadcast_to(np.asarray(celsius, dtype=float), shape[1:]) + CELSIUS
    return time, np.broadcast_to(t, shape).copy(), np.broadcast_to(np.asarray(aw, dtype=float), shape).copy()


def by_key(lethality):
    return {entry.organism: entry for entry in lethality.organisms}


@pytest.mark.parametrize(
    ("celsius", "aw", "minutes", "grade"),
    [
        (70.0, 0.99, 60.0, "met"),
        (60.0, 0.99, 60.0, "not shown"),
        (60.0, 0.85, 20.0, "below target"),
        (62.0, 0.40, 20.0, "far below"),
        (35.0, 0.99, 600.0, "far below"),
    ],
)
def test_grades_of_salmonella(celsius, aw, minutes, grade):
    got = by_key(judge_lethality(*history(celsius, aw, minutes), "minced", "beef"))["salmonella"]
    place = np.array([0.0, 60.0 * minutes]), np.full(2, celsius + CELSIUS), np.full(2, aw)
    alone = lower_bound(*place, "salmonella", "ground")
    assert got.grade == grade
    assert (got.lower, got.best) == pytest.approx((alone.lower, alone.median), rel=1e-6, abs=1e-9)
    assert got.probability == alone.probability(got.target)
    assert f"{got.target:.1f} log required" in reason(got)


def test_the_least_reduced_place_is_found_and_the_worst_organism_limits():
    time, t, a = history(68.0, 0.99)
    t[:, 3, 1] -= 6.0
    t[:, 2, 0] -= 2.0
    got = judge_lethality(time, t, a, "minced", "beef")
    assert all((entry.node, entry.slab) == (3, 1) for entry in got.organisms)
    assert got.grade == min((entry.grade for entry in got.organisms), key=list(GRADES).index)


@pytest.mark.parametrize("form", ["pounded", "minced"])
def test_bacteria_sit_on_the_faces_only_of_intact_muscle(form):
    time, t, a = history(68.0, 0.99)
    t[:, 1:-1] = 50.0 + CELSIUS
    assert judge_lethality(time, t, a, "sliced", "beef").grade == "met"
    opened = judge_lethality(time, t, a, form, "beef")
    assert opened.grade == "far below"
    assert opened.organisms[0].node == 1
    a[:, -1] = 0.5  # the upper face dries
    assert by_key(judge_lethality(time, t, a, "sliced", "beef"))["salmonella"].node == 4


def test_exposed_nodes():
    assert exposed_nodes("sliced", 24).tolist() == [0, 23]
    assert exposed_nodes("pounded", 4).tolist() == exposed_nodes("minced", 4).tolist() == [0, 1, 2, 3]


def test_seven_log_are_never_shown_by_counts_and_it_is_said_why():
    times = history(75.0, 0.99, minutes=120.0)
    assert by_key(judge_lethality(*times, "minced", "beef"))["salmonella"].grade == "met"
    poultry = by_key(judge_lethality(*times, "minced", "poultry"))["salmonella"]
    assert poultry.grade == "not shown"
    assert 5.0 < poultry.lower < 7.0 <= poultry.best
    assert any("cannot be shown by counting" in sentence(flag) for flag in poultry.flags)


def test_whole_muscle_protects_where_bacteria_sit_inside():
    times = history(63.0, 0.99, minutes=20.0)
    inside, ground, surface = (
        judge_lethality(*times, form, "beef").organisms[0].lower for form in ("pounded", "minced", "sliced")
    )
    assert inside < 0.7 * ground
    assert ground == surface


def test_drying_itself_counts_only_where_it_is_asked_for():
    time, t, a = history(55.0, 0.99, minutes=180.0)
    a[:] = np.linspace(0.99, 0.49, 61)[:, None, None]
    plain = judge_lethality(time, t, a, "sliced", "beef").organisms[0]
    dried = judge_lethality(time, t, a, "sliced", "beef", drying=True).organisms[0]
    assert (plain.drying_share, dried.drying_share) == (0.0, 1.0)
    assert dried.best > plain.best + 2.0
    assert dried.heat_lower == plain.lower < dried.lower


def test_heat_is_counted_at_the_drier_side():
    time, t, a = history(66.0, 0.95)
    plain = judge_lethality(time, t, a, "sliced", "beef").organisms[0]
    drier = judge_lethality(time, t, a, "sliced", "beef", drier_water_activity=drier_side(a)).organisms[0]
    alone = lower_bound(time, t[:, 0, 0], drier_side(a[:, 0, 0]), "salmonella")
    assert (drier.lower, drier.best) == pytest.approx((alone.lower, alone.median), rel=1e-6)
    assert drier.lower < plain.lower


def test_drier_side():
    np.testing.assert_allclose(drier_side(np.array([1.0, 0.85, 0.5, 0.02])), [1.0, 0.81, 0.46, 0.0])
    assert (np.diff(drier_side(np.linspace(0.0, 1.0, 101))) >= 0.0).all()


@pytest.mark.parametrize("kind", ["known", "no_recipe", "formed"])
def test_the_error_of_water_activity_is_that_of_the_kind_of_product(kind):
    activity = np.linspace(0.0, 1.0, 101)
    drier = drier_side(activity, activity_error(kind).half_width)
    assert (np.diff(drier) >= 0.0).all()
    assert (activity - drier).max() == pytest.approx(activity_error(kind).half_width)


def test_a_guessed_recipe_is_judged_at_a_drier_meat():
    """The same history, the marinade weighed or guessed: what heat does is credited less where the meat is known less."""
    ran = ds.run(
        replace(warm_air(), take_off="together"), nodes=8
    )  # else the guess has slices left in longer
    marinade = replace(ran.batch.marinade, known=False)
    guessed = replace(ran, batch=replace(ran.batch, marinade=marinade))
    known, less = (judge_batch_lethality(each).organisms for each in (ran, guessed))
    assert all(b.heat_lower < a.heat_lower for a, b in zip(known, less, strict=True))
    assert all(b.drying_share == a.drying_share for a, b in zip(known, less, strict=True))


def test_coarse_samples_are_deducted():
    ramp, wet = np.repeat([40.0, 68.0], 2).reshape(2, 2, 1) + CELSIUS, np.full((2, 2, 1), 0.99)  # two samples
    got = by_key(judge_lethality(np.array([0.0, 3600.0]), ramp, wet, "minced", "beef"))["salmonella"]
    assert got.quadrature_spread > 0.2
    assert got.counted < got.lower - 0.2
    assert "coarse_samples" in [flag.key for flag in got.flags]


def test_flags_name_what_was_extrapolated():
    got = by_key(judge_lethality(*history(95.0, 0.05), "sliced", "beef"))["listeria"]
    text = " ".join(map(sentence, got.flags))
    assert "90 degC" in text
    assert "0.05" in text
    assert "assumed the same" in text
    assert by_key(judge_lethality(*history(65.0, 0.99), "sliced", "beef"))["salmonella"].flags == ()


@pytest.mark.parametrize("celsius", [35.0, 60.0, 68.0, 90.0])
def test_no_statement_promises_anything(celsius):
    got = judge_lethality(*history(celsius, 0.99), "sliced", "beef")
    texts = [places(got.form), *CAUTIONS, *MEANINGS.values()]
    for entry in got.organisms:
        texts += [reason(entry), entry.guideline, *map(sentence, (entry.circumstances, *entry.flags))]
    assert not re.search(r"\bsafe(ly)?\b", " ".join(texts), re.IGNORECASE)


def test_bad_histories():
    time, t, a = history(60.0, 0.99)
    broken = t.copy()
    broken[3, 0, 0] = np.nan
    with pytest.raises(InputError, match="not numbers"):
        judge_lethality(time, broken, a, "sliced", "beef")
    with pytest.raises(InputError, match="backwards"):
        judge_lethality(time[::-1], t, a, "sliced", "beef")
    with pytest.raises(InputError, match="'poultry'"):
        judge_lethality(time, t, a, "sliced", "pultry")


def test_unknown_form():
    with pytest.raises(InputError, match="did you mean 'sliced'"):
        exposed_nodes("slice", 5)


def test_hardly_anybody_counts_more_than_seven():
    assert [logs(x) for x in (0.04, 6.94, 7.0, 10.1)] == ["0.0", "6.9", "7 or more", "7 or more"]


# --- a batch --------------------


def slab(thickness_m=0.005, hours=6.0, celsius=68.0, humidity=None, **meat):
    batch = warm_air()
    air = replace(
        batch.stages[0].air, temperature_K=celsius + CELSIUS, humidity=humidity or ds.Humidity(kind="room")
    )
    stage = replace(batch.stages[0], air=air, duration_s=3600.0 * hours, until=None)
    classes = (ds.ThicknessClass(thickness_m=thickness_m, share=1.0),)
    return replace(batch, meat=replace(batch.meat, classes=classes, **meat), stages=(stage,))


@pytest.fixture(scope="module")
def dry():
    return ds.run(slab())


@pytest.fixture(scope="module")
def humid():
    return ds.run(slab(humidity=ds.Humidity(kind="wet_bulb", value=60.0 + CELSIUS)))


def test_in_dry_air_the_meat_stays_cold_while_it_is_wet(dry):
    hour = dry.time_s <= 3600.0
    assert (dry.temperature_K[hour] < 68.0 + CELSIUS - 10.0).all()
    face, activity = dry.surface_temperature_K[:, 1, 0], dry.surface_water_activity[:, 1, 0]
    assert activity[np.argmax(face >= 55.0 + CELSIUS)] < 0.9


@pytest.mark.parametrize("organism", list(catalog.organisms()))
def test_a_wet_bulb_of_60_degc_reduces_many_times_more_in_the_first_hour(dry, humid, organism):
    def first_hour(history):
        n = int(np.searchsorted(history.time_s, 3600.0)) + 1
        arrays = (history.time_s[:n], history.temperature_K[:n], history.water_activity[:n])
        judged = judge_lethality(*arrays, "sliced", "beef", drying=True)
        return next(entry for entry in judged.organisms if entry.organism == organism)

    in_dry, in_humid = first_hour(dry), first_hour(humid)
    assert in_humid.best > 5.0
    assert in_humid.heat_lower > 1.0 > 10.0 * in_dry.heat_lower


def test_judging_a_batch(dry):
    got = judge_batch_lethality(dry)
    assert got.species == "beef"
    assert got.form == "sliced"
    assert {entry.node for entry in got.organisms} <= {0, dry.slabs.nodes.size - 1}
    assert got.grade == "below target"
    assert got.worst.grade == got.grade
    for entry in got.organisms:
        assert entry.drying_share == 1.0
        assert entry.heat_lower < 0.1
        assert entry.lower < 2.0 < 3.0 < entry.best < 5.0
        assert "only after its water activity had fallen to 0." in sentence(entry.circumstances)
    assert got.slab_thickness_m == (0.005,)
    assert got.slab_tray == (0,)


def test_the_table_counts_only_in_humid_air(dry):
    table = judge_batch_lethality(dry).table
    assert table.table == "meat"
    assert table.fraction == 0.0 < 1.0 < table.fraction_any_air
    assert not table.fulfilled
    humid = ds.Humidity(kind="relative", value=0.92)
    steamed = ds.run(slab(hours=2.0, celsius=70.0, humidity=replace(humid, measured=True)))
    assert judge_batch_lethality(steamed).table.fulfilled
    typed = judge_batch_lethality(replace(steamed, batch=slab(hours=2.0, celsius=70.0, humidity=humid)))
    assert not typed.table.fulfilled


def test_home_advice(dry, humid):
    cold = judge_batch_lethality(dry).advice
    assert cold.reached_s is None
    assert not cold.before_drying
    assert "never got hotter than" in home_advice(cold)
    late = judge_batch_lethality(ds.run(slab(hours=5.0, celsius=80.0))).advice
    assert 0.0 < late.reached_s < 5.0 * 3600.0
    assert late.face_water_activity < 0.2
    assert "71.1 degC" in home_advice(late)
    poultry = judge_batch_lethality(replace(dry, batch=slab(species="poultry", name="poultry")))
    assert poultry.species == "poultry"
    assert "73.9 degC" in home_advice(poultry.advice)
    assert poultry.table.table == "poultry"
    assert [entry.target for entry in poultry.organisms] == [7.0, 5.0, 3.0]


def test_form_decides_where_bacteria_are(dry):
    """All the meat left in, as what is sure of one form may be ready sooner."""
    dry = replace(dry, batch=replace(dry.batch, take_off="together"))
    minced = judge_batch_lethality(replace(dry, batch=replace(slab(form="minced"), take_off="together")))
    assert "every depth" in places(minced.form)
    for whole, inside in zip(judge_batch_lethality(dry).organisms, minced.organisms, strict=True):
        assert inside.best <= whole.best
        assert inside.lower <= whole.lower


def test_worst_slab_of_several_thicknesses():
    history = ds.run(replace(warm_air(), take_off="together"))
    got = judge_batch_lethality(history)
    for entry in got.organisms:
        alone = [
            judge_lethality(
                history.time_s,
                history.temperature_K[..., k : k + 1],
                history.water_activity[..., k : k + 1],
                "sliced",
                "beef",
                drying=True,
                drier_water_activity=drier_side(history.water_activity[..., k : k + 1]),
            )
            for k in range(3)
        ]
        own = [next(e.lower for e in one.organisms if e.organism == entry.organism) for one in alone]
        # in every draw the least-reduced slab counts, so together they are a little below the least of them
        assert min(own) - 0.1 < entry.lower <= min(own) + 1e-9
