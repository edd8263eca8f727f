"""`dryingsim sheet`: a file beside the batch, the same bytes each time, and mistakes on one line."""

import pytest
import typer
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.sheet import sheet
from dryingsim.cli.store import store

pytestmark = pytest.mark.usefixtures("coarse_steps")

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(store)
app.command()(sheet)


def invoke(*args):
    env = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["sheet", *map(str, args)], env=env)


@pytest.fixture
def batch(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(warm_air_text().replace('duration = "10 h"', 'duration = "30 min"'), encoding="utf-8")
    return path


def test_sheet_is_written_beside_the_batch_and_not_twice(batch, tmp_path):
    result = invoke(batch)
    assert result.exit_code == 0, result.output
    target = tmp_path / "b.pdf"
    assert f"Wrote {target}" in result.stdout.replace("\n", " ")
    first = target.read_bytes()
    assert first.startswith(b"%PDF-")
    assert sorted(one.name for one in tmp_path.iterdir()) == ["b.pdf", "b.toml"]

    again = invoke(batch)
    assert again.exit_code == 2
    assert "exists already" in again.stderr
    assert target.read_bytes() == first
    assert invoke(batch, "--force").exit_code == 0
    assert target.read_bytes() == first


def test_units_choose_the_paper(batch, tmp_path):
    invoke(batch, "-o", tmp_path / "us.pdf", "--units", "us")
    invoke(batch, "-o", tmp_path / "metric.pdf")
    assert b"/MediaBox [ 0 0 612 792 ]" in (tmp_path / "us.pdf").read_bytes()
    assert b"/MediaBox [ 0 0 595.3 841.9 ]" in (tmp_path / "metric.pdf").read_bytes()


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("-o", "x.png"), "ends in .pdf"),
        (("-o", "nowhere/x.pdf"), "cannot be written"),
        (("--units", "si"), "known: 'metric', 'us'"),
    ],
)
def test_mistakes_are_one_line_and_leave_nothing(batch, more, says, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = invoke(batch, *more)
    assert result.exit_code == 2, result.output
    assert result.stdout == ""
    assert len(result.stderr.splitlines()) == 1
    assert says in result.stderr
    assert [one.name for one in tmp_path.iterdir()] == ["b.toml"]


def test_a_missing_batch_is_one_line():
    result = invoke("none.toml")
    assert result.exit_code == 2
    assert "no such file" in result.stderr
