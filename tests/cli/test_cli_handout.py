"""`dryingsim handout`: one page, written whole, one line for what is wrong."""

from dataclasses import replace

import pytest
from made_batch import warm_air_text
from made_slider_grid import few_left_out, small_errors, small_grid
from typer.testing import CliRunner

from dryingsim.cli.main import app


@pytest.fixture
def batch(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(warm_air_text(), encoding="utf-8")
    return path


@pytest.fixture
def small(monkeypatch):
    """Spare the runs of all settings, which have tests of their own."""
    monkeypatch.setattr("dryingsim.explore.slider_grid.slider_grid", lambda batch, executor: small_grid())
    monkeypatch.setattr("dryingsim.explore.slider_errors.leave_out", lambda grid, executor: few_left_out())


def handout(*words):
    return CliRunner().invoke(app, ["handout", *map(str, words)])


@pytest.mark.usefixtures("small")
def test_writes_beside_the_batch_and_says_what_it_is_off(batch, tmp_path):
    done = handout(batch, "--workers", "1")
    assert done.exit_code == 0, done.output
    assert done.stdout == f"\nWrote {tmp_path / 'b-handout.html'}\n"
    assert "Note: between its points the page is off by up to" in done.stderr  # two nodes an axis are too few
    page = (tmp_path / "b-handout.html").read_text(encoding="utf-8")
    assert '"units":"metric"' in page
    assert sorted(one.name for one in tmp_path.iterdir()) == ["b-handout.html", "b.toml"]


@pytest.mark.usefixtures("small")
def test_where_told_quietly_in_other_units(batch, tmp_path, monkeypatch):
    told = replace(small_errors(), ready=0.01, profile=0.02, bolder=2)
    monkeypatch.setattr("dryingsim.explore.slider_errors.errors_of", lambda grid, left_out: told)
    done = handout(batch, "--units", "us", "-o", tmp_path / "us.html", "--quiet")
    assert done.exit_code == 0
    assert done.stdout == ""
    assert done.stderr.splitlines() == [
        "Note: 2 of the verdicts tried were better than those of the simulation; the page says so."
    ]
    assert '"units":"us"' in (tmp_path / "us.html").read_text(encoding="utf-8")
