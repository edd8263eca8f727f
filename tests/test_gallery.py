"""The gallery: every picture there is, drawn by one command."""

import ast
import runpy
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
SCRIPT = ROOT / "examples" / "gallery.py"


@pytest.fixture
def gallery(monkeypatch, runs_kept):
    """Run the script as `python` does, in this process: another takes a second to load its libraries."""

    def run(*words):
        monkeypatch.setattr(sys, "argv", [str(SCRIPT), *map(str, words)])
        runpy.run_path(str(SCRIPT), run_name="__main__")

    return run


def test_pictures_by_name_in_both_systems(gallery, tmp_path):
    gallery(tmp_path / "new", "moisture_map", "tray_done", "--units", "us")
    for name in ("moisture_map", "tray_done"):
        content = (tmp_path / "new" / f"{name}.png").read_bytes()
        assert content.startswith(b"\x89PNG")
        assert 5_000 < len(content) < 150_000


def test_a_name_that_is_not_there(gallery, tmp_path, capsys):
    with pytest.raises(SystemExit) as ended:
        gallery(tmp_path, "portrait")
    assert ended.value.code == 2
    assert "no such picture: portrait" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("module", "home"),
    {
        "plots": "run/pictures",
        "depth_plots": "run/depth_pictures",
        "rate_plots": "run/rate_pictures",
        "air_plots": "run/air_pictures",
        "lethality_plots": "lethality/pictures",
        "change_plots": "report/change_pictures",
    }.items(),
)
def test_every_picture_of_the_package_is_in_it(module, home):
    """A public function that takes axes or returns a sheet is one."""
    tree = ast.parse((ROOT / "dryingsim" / "show" / f"{home}.py").read_text(encoding="utf-8"))
    drawn = {
        node.name
        for node in tree.body
        if isinstance(node, ast.FunctionDef)
        and not node.name.startswith("_")
        and (
            "axes" in {a.arg for a in node.args.args}
            or "Figure" in ast.unparse(node.returns or ast.Constant(0))
        )
    } - {"mark_target"}
    text = SCRIPT.read_text(encoding="utf-8")
    assert drawn
    assert {name for name in drawn if f"{module}.{name}(" not in text} == set()
