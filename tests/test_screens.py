"""The page of first screens: what each command prints on the examples, line by line, and how long it may be."""

import importlib.util
from pathlib import Path

import pytest

pytestmark = pytest.mark.usefixtures("runs_kept")

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
SPEC = importlib.util.spec_from_file_location("screens", EXAMPLES / "screens.py")
screens = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(screens)
STORED = screens.stored()
SLOW = ("learn", "plan")  # 10 s and more: what they print is tested on smaller ones


def test_the_page_has_every_command_and_no_other():
    assert list(STORED) == list(screens.COMMANDS)


@pytest.mark.parametrize("command", [one for one in screens.COMMANDS if not one.startswith(SLOW)])
def test_a_first_screen_is_what_is_printed_today(command):
    assert screens.section(command).rstrip() == STORED[command].rstrip()


@pytest.mark.parametrize("command", screens.COMMANDS)
def test_a_first_screen_needs_no_scrolling(command):
    lines = STORED[command].split("```")[1].splitlines()[1:]
    assert len(lines) <= (25 if command.startswith("run") else 15)
    assert max(map(len, lines)) <= 80
    assert lines[-1].startswith("More with --details: ")
    assert "process authority" in " ".join(lines) or not command.startswith(
        ("run", "spread", "compare", "map", "plan")
    )


@pytest.mark.parametrize("command", [one for one in screens.COMMANDS if one.startswith("run")])
def test_a_run_begins_with_what_to_do_for_safety(command):
    _, _, safety = STORED[command].partition("SAFETY  ")
    said = " ".join(safety.partition("READY  ")[0].split())
    assert any(
        words in said
        for words in ("Do first", "Measure at the slices", "Counts on", "go by the federal table")
    )
