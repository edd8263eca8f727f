"""`dryingsim thermometer LOG --batch FILE`: the example with a batch file, units, JSON, and slips."""

import json
import re
from dataclasses import replace
from functools import partial
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from complaints import assert_one_line
from made_once import once
from test_cli_thermometer import flat, invoke

from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.cli import logged_batch
from dryingsim.learn import fitted_log, logged_outlook
from dryingsim.learn.logged_outlook import drying_goes_on, worth_trying
from dryingsim.show.core.document import Document
from dryingsim.show.core.tables import CAUTION

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
LOG, BATCH = EXAMPLES / "logger_file.csv", EXAMPLES / "logged_batch.toml"


@pytest.fixture(scope="module")
def both():
    """The example estimated once, told in text and as JSON."""
    with pytest.MonkeyPatch.context() as patch:
        for module, name in ((logged_batch, "estimated"), (logged_outlook, "outlook")):
            patch.setattr(module, name, once(getattr(module, name)))
        words = (LOG, "--batch", BATCH, "--until", "2 h")
        return invoke(*words), json.loads(invoke(*words, "--json").stdout)


@pytest.fixture(scope="module")
def result(both):
    return both[0]


@pytest.fixture(scope="module")
def found(both):
    return both[1]


def test_the_example_is_estimated_and_judged_as_a_whole(result):
    assert result.exit_code == 0, result.output
    text = flat(result.stdout)
    assert "Read of logger_file.csv: meat = 'CH1 meat (°F)'" in text
    assert "in the whole batch; Salmonella limits" in text
    assert "in the probed slice" in text
    assert "water activity of about" in text
    assert text.endswith(CAUTION)
    assert not re.search(r"\bsafe\b", text, re.IGNORECASE)
    assert max(map(len, result.stdout.splitlines())) <= 90


@pytest.mark.parametrize(
    ("display", "options", "symbol"),
    [("us", (), "°F"), ("metric", (), "°C"), ("us", ("--units", "metric"), "°C")],
)
def test_units_are_those_of_the_batch_file_unless_asked_for_others(monkeypatch, display, options, symbol):
    of_batch = SimpleNamespace(of=SimpleNamespace(batch=replace(load_batch(BATCH), display=display)))
    monkeypatch.setattr(logged_batch, "estimated", lambda *_: [of_batch])
    monkeypatch.setattr(logged_outlook, "outlook", lambda *_: None)
    told = "dryingsim.show.thermometer.estimate_text.estimate_document"
    monkeypatch.setattr(told, lambda _found, _ahead, units: Document(units.temperature.symbol, []))
    assert invoke(LOG, "--batch", BATCH, *options).stdout.strip() == symbol


def test_the_estimate_follows_the_log(found):
    assert found["doubts"] == []
    miss = [abs(a - b) for a, b in zip(found["meat_K"], found["fitted_K"], strict=True)]
    assert sorted(miss)[len(miss) // 2] < 0.7  # the noise of the readings
    low, middle, high = (found["surface_water_activity"][name] for name in ("low", "middle", "high"))
    assert all(a <= b <= c for a, b, c in zip(low, middle, high, strict=True))
    assert middle[0] > 0.98
    assert middle[-1] < 0.4
    assert found["whole_batch"]["grade"] == found["probed_slice"]["grade"] == "met"


def test_without_the_humidity_it_is_met_only_if_that_is_measured(tmp_path, monkeypatch):
    monkeypatch.setattr(fitted_log, "fit_log", partial(fitted_log.fit_log, draws=64, rounds=3))
    path = tmp_path / "no wet bulb.csv"
    rows = [line.rsplit(",", 1)[0] for line in LOG.read_text("utf-8").splitlines()[4:]]
    path.write_text("\n".join(rows), encoding="utf-8")
    judged = json.loads(invoke(path, "--batch", BATCH, "--until", "90 min", "--json").stdout)
    assert not judged["humidity_logged"]
    assert judged["whole_batch"]["grade"] in ("met only if measured", "not shown")


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--species", "beef"), "the batch file says it"),
        (("--form", "sliced"), "the batch file says it"),
        (("--water-activity", "0.99"), "it is estimated"),
        (("--started-warm", "bath"), "meat that was laid in cold"),
        (("--tray", "0"), "trays count from 1"),
        (("--tray", "9"), "the slices lie on 1"),
    ],
)
def test_options_that_do_not_go_with_a_batch(options, told):
    assert_one_line(invoke(LOG, "--batch", BATCH, *options), told)


def test_what_goes_with_a_batch_only():
    assert_one_line(invoke(LOG, "--tray", "1"), "go with --batch")


def test_a_log_without_air_cannot_be_fitted(tmp_path):
    path = tmp_path / "meat.csv"
    path.write_text(
        "time [min], meat [degC]\n" + "\n".join(f"{5 * i}, {4 + i}" for i in range(12)), encoding="utf-8"
    )
    assert_one_line(invoke(path, "--batch", BATCH), "no column is of the air")


def test_a_batch_file_that_is_not_there():
    assert_one_line(invoke(LOG, "--batch", "nowhere.toml"), "nowhere.toml")


def test_an_unfinished_log_says_where_it_stands(found, result):
    part = found["outlook"]
    assert part["now_s"] == pytest.approx(2 * 3600.0)
    assert part["ready_share"] < 0.5
    early, middle, _ = part["courses"][0]["ready_s"]
    assert 2 * 3600.0 < early < middle
    assert part["now_s"] + 900.0 <= part["look_s"] <= part["now_s"] + 7200.0
    hotter = next(course for course in part["courses"] if course["change"] == "hotter")
    assert hotter["ready_s"][1] < middle
    assert "Look next at" in flat(result.stdout)
    assert "With the air at 74 °C from now on" in flat(result.stdout)


@pytest.mark.parametrize(
    ("batch", "humid"),
    [("logged_batch.toml", True), ("stacked_dehydrator.toml", False), ("climate_chamber.toml", True)],
)
def test_humid_air_is_tried_only_where_it_can_be_made(batch, humid):
    air = SimpleNamespace(temperature_K=np.array([341.0]))
    of = SimpleNamespace(
        batch=load_batch(EXAMPLES / batch), fitted=SimpleNamespace(piece=SimpleNamespace(air=air))
    )
    assert ("humid hour" in worth_trying(of, 0.1, met=False)) is humid
    assert "humid hour" not in worth_trying(of, 0.1, met=True)


@pytest.mark.parametrize(("last_K", "goes_on"), [(341.0, True), (335.0, True), (296.0, False)])
def test_a_log_that_ends_in_cool_air_has_no_outlook(last_K, goes_on):
    air = SimpleNamespace(temperature_K=np.array([*[341.0] * 9, last_K]))
    estimate = SimpleNamespace(of=SimpleNamespace(fitted=SimpleNamespace(piece=SimpleNamespace(air=air))))
    assert drying_goes_on(estimate) is goes_on
