"""`dryingsim map` as a person uses it: what is printed and written, how it fails."""

import json

import pytest
import typer
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.cli.main import OneLineErrors
from dryingsim.cli.map import map as command
from dryingsim.show.core.tables import CAUTION

app = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
app.command()(command)


@app.callback()
def main() -> None:
    """Hold the one command, as the whole program does."""


def invoke(*args):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["map", *map(str, args)], env=environment)


def flat(text):
    return " ".join(text.split())


@pytest.fixture(scope="module")
def file(tmp_path_factory):
    path = tmp_path_factory.mktemp("map") / "b.toml"
    path.write_text(warm_air_text(), encoding="utf-8")
    return path


def test_tables_answers_and_files(file, tmp_path):
    over = ("--over", "meat.thickness = 3, 4 mm", "--over", "stage.1.air = 150, 165 degF")
    done = invoke(file, *over, "--workers", 1, "--out", tmp_path / "out", "--details")
    assert done.exit_code == 0, done.output
    text = flat(done.stdout)
    for words in (
        "150 °F",
        "Done by thickness (down) and air of 'drying' (across)",
        "thickness 4 mm and air of 'drying' 150 °F",
        CAUTION,
    ):
        assert flat(words) in text
    assert "Salmonella" in text
    assert sorted(path.name for path in (tmp_path / "out").iterdir()) == ["map.csv", "map.json", "map.png"]
    assert max(map(len, done.stdout.split("Wrote")[0].splitlines())) <= 80


def test_a_grid_that_is_refused_leaves_no_folder_behind(file, tmp_path):
    refused = invoke(file, "--over", "meat.thickness = 3 to", "--workers", 1, "--out", tmp_path / "a" / "b")
    assert refused.exit_code == 2
    assert not (tmp_path / "a").exists()


def test_json_is_all_there_is(file):
    done = invoke(file, "--over", "film = 0.8, 1.2", "--workers", 1, "--json")
    data = json.loads(done.stdout)
    assert data["done_s"][0] > data["done_s"][1]
    assert data["caution"] == CAUTION


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("--over", "meat.thickness = 3 mm"), "one value alone varies nothing"),
        (("--over", "meat.thicknes = 3, 4 mm"), "did you mean 'thickness'"),
        (("--over", "film = 1, 2", "--units", "imperial"), "--units = 'imperial': did you mean 'us'?"),
        (("--over", "film = 1, 2", "--workers", "0"), "--workers = 0 is outside 1 to 1024"),
        ((), "Missing option '--over'"),
    ],
)
def test_mistakes_come_out_as_one_line(file, args, says):
    done = invoke(file, *args)
    assert done.exit_code == 2
    assert says in flat(done.stderr)
    assert len(done.stderr.strip().splitlines()) == 1
