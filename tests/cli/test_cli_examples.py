"""`dryingsim examples`: what comes with the package, as it lies in the checkout."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli import examples
from dryingsim.cli.main import app

CHECKOUT = Path(__file__).resolve().parents[2]


def invoke(*words):
    return CliRunner().invoke(app, ["examples", *map(str, words)])


def test_everything_lies_where_its_links_point(tmp_path):
    done = invoke(tmp_path / "here")
    assert done.exit_code == 0
    written = {
        p.relative_to(tmp_path / "here").as_posix(): p for p in (tmp_path / "here").rglob("*") if p.is_file()
    }
    assert f"Wrote {len(written)} files" in done.output
    for name, path in written.items():
        assert path.read_bytes() == (CHECKOUT / name).read_bytes()
    assert "shared/wet_surface_temperature.csv" in written  # lesson a reads it two folders up
    assert "validation/theory.md" in written  # the guide links to it
    assert ds.load_batch(written["examples/oven_door_ajar.toml"]).appliance is not None


def test_nothing_there_is_overwritten_unasked(tmp_path):
    guide = tmp_path / "examples" / "guide.md"
    guide.parent.mkdir()
    guide.write_text("mine", encoding="utf-8")
    refused = invoke(tmp_path)
    assert refused.exit_code == 2
    assert len(refused.output.splitlines()) == 1
    assert "exists already" in refused.output
    assert [p for p in tmp_path.rglob("*") if p.is_file()] == [guide]
    assert invoke(tmp_path, "--force").exit_code == 0
    assert guide.read_text(encoding="utf-8") != "mine"


def test_a_file_is_no_folder(tmp_path):
    file = tmp_path / "taken"
    file.touch()
    refused = invoke(file)
    assert refused.exit_code == 2
    assert "a folder is expected" in refused.output


def test_a_built_package_has_its_own_copies(tmp_path, monkeypatch):
    home = tmp_path / "shipped"
    (home / "examples" / ".hidden").mkdir(parents=True)
    (home / "examples" / "a.toml").touch()
    (home / "examples" / ".hidden" / "b").touch()
    monkeypatch.setattr(examples, "_PACKAGE", tmp_path)
    assert examples.shipped() == {"examples/a.toml": home / "examples" / "a.toml"}


@pytest.mark.parametrize("part", examples._PARTS)
def test_the_build_takes_the_same_parts(part):
    text = (CHECKOUT / "pyproject.toml").read_text(encoding="utf-8")
    assert f'"{part}" = "dryingsim/shipped/{part}"' in text
