"""`run --apply`: a change that is tried becomes a batch file."""

import shlex
from pathlib import Path

import pytest
from made_batch import warm_air_text
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.cli.main import app

pytestmark = pytest.mark.usefixtures("coarse_steps")


def invoke(*words):
    return CliRunner().invoke(app, ["run", *map(str, words)])


def test_a_change_is_written_as_a_batch_and_run(tmp_path):
    old, new = tmp_path / "old.toml", tmp_path / "safer.toml"
    old.write_text(warm_air_text().replace('duration = "10 h"', 'duration = "30 min"'), encoding="utf-8")
    result = invoke(old, "--apply", "heated-first", "-o", new, "--quiet")
    assert result.exit_code == 0, result.output
    changed = load_batch(new)
    assert [stage.kind for stage in changed.stages] == ["marinade", "air", "air"]
    assert 'marinade = "boiling"' in new.read_text(encoding="utf-8")
    assert invoke(new, "--quiet").stdout == result.stdout


def test_nothing_is_overwritten_and_a_slip_is_told_on_one_line(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    Path("safer.toml").write_text("mine")
    for words in (("--apply", "thinner", "-o", "safer.toml"), ("--apply", "thiner"), ("-o", "x.toml")):
        assert invoke(*words).exit_code == 2
    assert Path("safer.toml").read_text() == "mine"
    assert [path.name for path in tmp_path.iterdir()] == ["safer.toml"]


@pytest.mark.parametrize(("stated", "written"), [("", "us"), ('units = "metric"', "metric")])
def test_it_is_written_in_the_units_of_the_file_else_of_the_person(tmp_path, monkeypatch, stated, written):
    monkeypatch.setenv("DRYINGSIM_UNITS", "us")
    old, new = tmp_path / "old.toml", tmp_path / "safer.toml"
    text = (
        warm_air_text()
        .replace('duration = "10 h"', 'duration = "12 min"')
        .replace('units = "metric"', stated)
    )
    assert ("units =" in text) == bool(stated)
    old.write_text(text, encoding="utf-8")
    result = invoke(old, "--apply", "thinner", "-o", new, "--quiet")
    assert result.exit_code == 0, result.output
    assert "Comments are not carried over." in result.stderr
    assert load_batch(new).display == written


@pytest.mark.parametrize(
    ("form", "change", "how"), [("sliced", "heated first", ""), ("minced", "boiled first", "for 5 min, ")]
)
def test_a_first_screen_names_the_way_to_a_safer_batch(tmp_path, form, change, how):
    file, way = tmp_path / "old.toml", f"--apply '{change}' -o safer.toml"
    text = warm_air_text().replace('duration = "10 h"', 'duration = "30 min"')
    file.write_text(text.replace('form = "sliced"', f'form = "{form}"'), encoding="utf-8")
    said = " ".join(invoke(file).stdout.split())
    assert f"Do first: heat the slices {how}to 71 °C throughout in " in said
    assert f"({way}; ways: --remedies)." in said
    assert invoke(file, *shlex.split(way)[:2], "--quiet").exit_code == 0
