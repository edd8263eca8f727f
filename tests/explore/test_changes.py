"""What moves the answer: one thing at a time, in the direction physics says, against an unchanged run."""

import pytest
from made_batch import warm_air
from made_history import in_stack

import dryingsim as ds
from dryingsim.explore.changes import small_changes

pytestmark = pytest.mark.usefixtures("coarse_steps")


@pytest.fixture(scope="module")
def found():
    return small_changes(warm_air())


def shifts(found):
    return {(one.subject, one.change): one.done_s - found[0].done_s for one in found[1:]}


def test_each_thing_is_changed_twice(found):
    assert found[0].subject == "as it is"
    subjects = [one.subject for one in found[1:]]
    assert subjects[::2] == subjects[1::2]
    assert len(set(subjects)) == 4
    assert all(one.why for one in found[1:])


def test_directions(found):
    moved = shifts(found)
    assert moved["water moving through the meat", "half as fast"] > 0.0
    assert moved["water moving through the meat", "twice as fast"] < 0.0
    assert moved["thickness of the slices", "10 % less"] < 0.0 < moved["thickness of the slices", "10 % more"]
    assert (
        moved["temperature of the air", "3 K (5.4 °F) more"]
        < 0.0
        < moved["temperature of the air", "3 K (5.4 °F) less"]
    )
    assert moved["speed of the air", "half as much again"] < 0.0 < moved["speed of the air", "a third less"]


def test_thickness_counts_more_than_in_proportion(found):
    base, longer = found[0].done_s, shifts(found)["thickness of the slices", "10 % more"]
    # between a time in proportion (air decides) and the square law (diffusion decides)
    assert 0.10 < longer / base < 0.21


def test_the_unchanged_run_is_the_run_itself_but_for_its_coarser_numerics(found):
    own = ds.judge_batch(ds.run(warm_air())).doneness.batch.expected_s
    assert found[0].done_s == pytest.approx(own, rel=0.01)  # the half percent of coarser nodes


def test_an_appliance_exchanges_air_too():
    batch = in_stack(0.02)
    assert "exchange of air with the room" in {one.subject for one in small_changes(batch)}


def test_what_cannot_be_simulated_is_told_as_such(monkeypatch):
    def never(*arguments, **options):
        raise ds.InputError("its end is not reached")

    monkeypatch.setattr("dryingsim.explore.changes.run", never)
    found = small_changes(warm_air())
    assert len(found) == 9
    assert all(one.answers is None and one.done_s is None for one in found)
