"""Help: whole sentences, and examples that work as they stand."""

import shlex
import shutil
from pathlib import Path

import pytest
import typer
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.main import app
from dryingsim.engine import executors

pytestmark = pytest.mark.usefixtures("coarse_steps")

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
ENVIRONMENT = {"COLUMNS": "200", "TERM": "dumb", "NO_COLOR": "1"}
LONG = {"handout", "learn", "logbook", "plan", "record"}  # they take long, and their own tests run them
SHORT = ('duration = "10 h"', 'duration = "40 min"')  # quick, and the slices are simulated all the same


def commands(group, words=()):
    """Yield the words of every command that does something."""
    for name, one in group.commands.items():
        if hasattr(one, "commands"):
            yield from commands(one, (*words, name))
        else:
            yield (*words, name)


ALL = list(commands(typer.main.get_command(app)))


def example_of(words):
    """Return the words of the example that the help of a command ends with."""
    told = CliRunner().invoke(app, [*words, "--help"], env=ENVIRONMENT).stdout
    return shlex.split(told.partition("Example: dryingsim ")[2])


@pytest.fixture
def kitchen(tmp_path, monkeypatch):
    """A folder with what the examples name."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(executors, "processes", lambda *_: None)  # pools take long to start
    Path("mine.toml").write_text(warm_air_text().replace(*SHORT), encoding="utf-8")
    shutil.copy(EXAMPLES / "thermometer_log.csv", "log.csv")
    return tmp_path


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_the_example_of_a_command_works(words, kitchen):
    typed = example_of(words)
    assert tuple(typed[: len(words)]) == words
    if words[0] in LONG:
        return
    if words == ("new",):
        Path("mine.toml").unlink()
    if words == ("measure", "warm-up"):  # goes on from the other test's file
        assert CliRunner().invoke(app, example_of(("measure", "pan")), env=ENVIRONMENT).exit_code == 0
    few = (
        ["--slices", "64"] if words == ("spread",) else []
    )  # the words are as good for few slices as for many
    result = CliRunner().invoke(app, [*typed, *few], env=ENVIRONMENT)
    assert result.exit_code == 0, result.stderr


def test_lists_of_commands_tell_whole_sentences():
    told = CliRunner().invoke(app, ["--help"], env=ENVIRONMENT).stdout
    assert "..." not in told.partition("Commands:")[2]
