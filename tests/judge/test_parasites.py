"""Parasites: the printed times, what each animal is told, and that no grade turns on it."""

from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.batch.shared_file import shared_rows
from dryingsim.judge.parasites import judge_parasites, trichinella_share
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.show.core.quantities import Units
from dryingsim.show.lethality.text import lines

CELSIUS = 273.15


def test_every_printed_time_is_enough_at_its_temperature_and_nine_tenths_of_it_are_not():
    rows = [
        r
        for r in shared_rows("parasites")[1]
        if r["mode"] == "heat" and r["parasite"].startswith("Trichinella spiralis")
    ]
    timed = [(float(r["temperature_C"]), float(r["time_s"])) for r in rows if float(r["time_s"]) > 0.0]
    assert len(timed) == 12
    for celsius, seconds in timed:
        held = np.full(2, celsius + CELSIUS)
        assert trichinella_share(np.array([0.0, seconds]), held) == pytest.approx(1.0, abs=1e-6)
        assert trichinella_share(np.array([0.0, 0.9 * seconds]), held) < 1.0


def test_at_once_is_not_believed_and_below_the_table_nothing_counts():
    assert trichinella_share(np.array([0.0, 59.0]), np.full(2, 350.0)) < 1.0
    assert trichinella_share(np.array([0.0, 1e6]), np.full(2, 48.9 + CELSIUS)) == 0.0


@pytest.mark.parametrize(
    ("species", "celsius", "keys"),
    [
        ("beef", 40.0, ()),
        ("poultry", 40.0, ()),
        ("pork", 40.0, ("trichinella_short",)),
        ("pork", 62.0, ("trichinella_met",)),
        ("unknown", 40.0, ("trichinella_short",)),
        ("game", 62.0, ("trichinella_met", "game_parasites")),
        ("fish", 62.0, ("fish_parasites",)),
    ],
)
def test_each_animal_is_told_its_own(species, celsius, keys):
    found = judge_parasites(species, np.array([0.0, 3600.0]), np.full(2, celsius + CELSIUS))
    assert tuple(finding.key for finding in found) == keys


def test_it_stands_in_the_verdict_and_changes_no_grade():
    history = ds.run(warm_air(), nodes=8)
    pork = replace(
        history, batch=replace(history.batch, meat=replace(history.batch.meat, name="pork", species="pork"))
    )
    judged = judge_batch_lethality(pork)
    assert [finding.key for finding in judged.parasites] == ["trichinella_met"]
    assert judged.grade == judge_batch_lethality(history).grade
    told = [line for line in lines(judged, Units(pork, "us")) if line.startswith("Parasites")]
    assert len(told) == 1
