"""What commands that write a page have in common: one line for what is wrong, and a file that is there stays."""

import pytest
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.main import app

COMMANDS = {"report": "b.html", "handout": "b-handout.html"}  # and what each writes beside b.toml


@pytest.fixture
def batch(tmp_path):
    path = tmp_path / "b.toml"
    path.write_text(warm_air_text(), encoding="utf-8")
    return path


def write(command, *words):
    return CliRunner().invoke(app, [command, *map(str, words)])


@pytest.mark.parametrize("command", COMMANDS)
@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["-o", "page.pdf"], "a name that ends in .html is expected"),
        (["--units", "imperial"], "--units"),
        (["--workers", "0"], "--workers"),
        (["-o", "/nowhere/page.html"], "cannot be written"),
    ],
)
def test_one_line_for_what_is_wrong(command, batch, words, message, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = write(command, batch, *words)
    assert done.exit_code == 2
    assert message in done.output
    assert len(done.output.splitlines()) == 1
    assert [one.name for one in tmp_path.iterdir()] == ["b.toml"]


@pytest.mark.parametrize("command", COMMANDS)
def test_a_file_that_is_there_stays(command, batch, tmp_path):
    page = tmp_path / COMMANDS[command]
    page.write_text("mine", encoding="utf-8")
    done = write(command, batch)
    assert done.exit_code == 2
    assert "exists already" in done.output
    assert page.read_text(encoding="utf-8") == "mine"
