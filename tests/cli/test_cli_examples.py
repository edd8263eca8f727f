"""`dryingsim examples`: what comes with the package, as it lies in the checkout."""

import re
from pathlib import Path

import pytest
from typer.testing import CliRunner

import dryingsim as ds
from dryingsim.cli import examples
from dryingsim.cli.main import app
from dryingsim.teaching import class_kit
from dryingsim.teaching.class_kit import student_notebooks

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
    lessons = {f"examples/lessons/{name}": text for name, text in student_notebooks().items()}
    for name, path in written.items():
        kept = lessons[name].encode() if name in lessons else (CHECKOUT / name).read_bytes()
        assert path.read_bytes() == kept
    assert lessons.keys() <= written.keys()
    assert not [
        name for name in written if name.startswith("examples/lessons/") and name.endswith(".py")
    ]  # hold answers
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


@pytest.fixture
def short_kit(monkeypatch):
    """The kit of one lesson that takes no time: all of them are worked through in test_lessons.py."""
    monkeypatch.setattr(class_kit, "lesson_names", lambda: ["k_evidence"])


def test_the_kit_for_a_class_has_both_forms(tmp_path, short_kit):
    done = invoke(tmp_path, "--class")
    assert done.exit_code == 0
    files = {p.relative_to(tmp_path).as_posix(): p.read_text(encoding="utf-8") for p in tmp_path.rglob("*.*")}
    assert sorted(files) == sorted(class_kit.kit_names())
    assert f"Wrote {len(files)} files" in done.output
    assert "index.html" in done.output
    for link in re.findall(r'href="([^"]+)"', files["index.html"]):
        assert link in files
    assert "my_coverage" in files["student/k_evidence.ipynb"]
    assert "others.std" in files["teacher/k_evidence.html"]
    assert not [name for name, text in files.items() if "others.std" in text and "student" in name]


def test_the_kit_for_a_class_overwrites_nothing_unasked(tmp_path, short_kit):
    (tmp_path / "index.html").write_text("mine", encoding="utf-8")
    refused = invoke(tmp_path, "--class")
    assert refused.exit_code == 2
    assert "exists already" in refused.output
    assert invoke(tmp_path, "--class", "--force").exit_code == 0


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
