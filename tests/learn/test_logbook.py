"""What a folder's history says to change: from made-up entries; and which files go together."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dryingsim.errors import InputError
from dryingsim.learn.estimates import Estimate
from dryingsim.learn.forecast import Forecast
from dryingsim.learn.logbook import Logbook, LogbookEntry, advice, pairs_in
from dryingsim.show.core.tables import plain
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.learn.logbook_text import logbook_document, logbook_tables

HOUR = 3600.0
DONE = Forecast(
    done_s=5 * HOUR,
    low_s=4.8 * HOUR,
    high_s=5.2 * HOUR,
    earliest_s=4 * HOUR,
    latest_s=6 * HOUR,
    weight_kg=0.28,
    weight_low_kg=0.27,
    weight_high_kg=0.29,
    surely_kg=0.26,
    laid_on_kg=0.7,
    last_s=5.5 * HOUR,
    horizon_s=20 * HOUR,
)
AIR = Estimate("setpoint", (0.0, -5.0, 5.0), (0.2, -1.0, 1.4), 0.25, 0.1)
ENTRY = LogbookEntry(
    log="a.csv",
    batch="a.toml",
    date=None,
    weighings=6,
    thermometer_in_air=True,
    with_learned=False,
    predicted_s=5 * HOUR,
    found=DONE,
    reached=True,
    taken_out=False,
    last_share=0.38,
    last_predicted_share=np.nan,
    estimates=(AIR,),
    slips=0,
)


def book(*entries):
    return Logbook(Path("batches"), entries, ())


def took(hours, name="a.csv"):
    return replace(ENTRY, log=name, found=replace(DONE, done_s=hours * HOUR))


def test_nothing_to_change_where_predictions_hold():
    assert advice(book(took(5.0), took(5.2, "b.csv"))) == ["Nothing to change: the predictions hold."]


def test_complaints_come_first_and_are_never_answered_with_nothing_to_change():
    complained = replace(took(5.0), answers=("a.csv, too salty: less salt.",))
    assert advice(book(complained, took(5.2, "b.csv"))) == ["a.csv, too salty: less salt."]


def test_complaints_of_a_log_that_cannot_be_fitted_are_answered_too():
    heard = replace(book(took(5.0), took(5.2, "b.csv")), answers=("c.csv, too moist: stop at 257 g.",))
    assert advice(heard) == ["c.csv, too moist: stop at 257 g."]


def test_a_folder_without_a_log_that_can_be_used_still_answers(tmp_path):
    from dryingsim.batch.reading.batch_file import demo_text
    from dryingsim.errors import InputError
    from dryingsim.learn.logbook import read_logbook

    (tmp_path / "a.toml").write_text(demo_text())
    (tmp_path / "a.csv").write_text(
        "# outcome: too moist, taken out at 300 g\ntime, weight [g]\n0:00, 2\n5:00, 1\n"  # of another batch
    )
    with pytest.raises(InputError, match=r"none of the logs can be used .*; a\.csv, too moist: stop at"):
        read_logbook(tmp_path)


def test_batches_that_all_take_longer_should_teach_the_next():
    told = advice(book(took(6.5), took(6.9, "b.csv")))
    assert "Your 2 batches took 34 % longer than predicted" in told[0]
    assert "dryingsim learn a.toml a.csv b.csv --out learned.toml" in told[0]


def test_batches_that_differ_both_ways_want_a_ruler():
    told = advice(book(took(4.0), took(6.3, "b.csv"), took(5.0, "c.csv")))
    assert "right on average, but single batches differ" in told[0]


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"thermometer_in_air": False}, "Put a thermometer beside the slices"),
        ({"weighings": 2}, "too few weighings: a.csv"),
        ({"reached": False}, "not weighed until done: a.csv"),
        ({"slips": 1}, "1 reading does not fit"),
        ({"found": replace(DONE, done_s=None)}, "No batch of these gets done"),
        (
            {"estimates": (replace(AIR, after=(-4.0, -5.0, -3.0)),)},
            "about 4 K (7 °F) cooler than its setting",
        ),
    ],
)
def test_one_thing_at_a_time(changes, says):
    assert any(says in text for text in advice(book(replace(ENTRY, **changes))))


def test_meat_that_the_log_says_was_taken_out_is_not_to_be_weighed_as_it_is_taken_out():
    told = advice(book(replace(ENTRY, reached=False, taken_out=True)))
    assert "Taken out before it was done by its weights: a.csv. Dry the next longer." in told
    assert not any("Weigh once more" in text for text in told)


def test_told_as_table_text_and_json():
    found = book(ENTRY, replace(took(6.0, "b.csv"), reached=False))
    table = plain(logbook_tables(found, "us"))
    assert max(map(len, table.splitlines())) <= 80
    assert "5:00" in table
    assert "6:00*" in table
    assert "+0.4" in table  # 0.2 K in °F
    assert "Last weight: in % of the first." in " ".join(table.split())
    assert "not how far bacteria were reduced" in " ".join(plain_text(logbook_document(found)).split())
    assert logbook_document(found).data()["batches"][0]["last_predicted_share"] is None
    two = replace(found, left_aside=("b.csv: no batch", "c.csv: no weight"))
    assert "2 left aside (why: --details)" in plain_text(logbook_document(two)).splitlines()[0]
    assert "left aside" not in plain_text(logbook_document(replace(found, left_aside=())))


def test_which_files_go_together(tmp_path):
    for name in ("a.toml", "main.toml"):
        (tmp_path / name).write_text("", encoding="utf-8")
    log = "time, weight [g]\n0:00, 700\n"
    (tmp_path / "a.csv").write_text(log, encoding="utf-8")
    (tmp_path / "b.csv").write_text("# batch: main.toml\n" + log, encoding="utf-8")
    (tmp_path / "c.csv").write_text(log, encoding="utf-8")
    (tmp_path / "d.csv").write_text("time [min], temperature [degC]\n0, 4\n", encoding="utf-8")
    pairs, aside = pairs_in(tmp_path)
    assert [(a.name, b.name) for a, b in pairs] == [("a.toml", "a.csv"), ("main.toml", "b.csv")]
    assert "there is no c.toml" in aside[0]
    assert aside[1].startswith("d.csv: nothing in it is called a weight")
    with pytest.raises(InputError, match="no log with its batch file found; name both alike"):
        pairs_in(Path(__file__).parent)


def test_why_the_logs_of_a_folder_cannot_be_used_comes_first(tmp_path):
    (tmp_path / "a.toml").touch()
    (tmp_path / "a.csv").write_text("# outcome: yummy\ntime, weight [g]\n0:00, 700\n", encoding="utf-8")
    (tmp_path / "b.csv").write_text("time, weight [g]\n0:00, 700\n", encoding="utf-8")
    with pytest.raises(
        InputError, match=r"^a.csv: # outcome = 'yummy': .*; and 1 more log of .* cannot be used"
    ):
        pairs_in(tmp_path)
