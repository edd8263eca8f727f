"""How a command ends when its streams, its disk or its workers fail; and that text leaves harmless."""

import io
import json
import os
import subprocess
import sys
import warnings
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import pytest
import typer
from typer.testing import CliRunner

from dryingsim.batch.reading.batch_file import demo_text
from dryingsim.batch.units import to_si
from dryingsim.cli.main import OneLineErrors, app
from dryingsim.cli.outcome import outcome, outlets
from dryingsim.errors import OutputError
from dryingsim.plain_text import html_text, visible
from dryingsim.show.core.document import Document, Sentence
from dryingsim.show.core.outlet import Outlet, console_on
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.core.terminal import print_document

HOSTILE = "\x1b[2J\x07 \x9b31m \u202etxt.exe\u2066 \x00\r"


def invoke(*args, command=app):
    return CliRunner().invoke(command, [str(one) for one in args], env={"COLUMNS": "80", "NO_COLOR": "1"})


def shell(line, **env):
    line = line.replace("dryingsim", f"{sys.executable} -m dryingsim")
    return subprocess.run(
        ["bash", "-c", line], capture_output=True, text=True, timeout=60, env={**os.environ, **env}
    )


# ---- streams that fail, in real processes


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
@pytest.mark.parametrize(
    ("line", "code", "says"),
    [
        ("dryingsim list cuts >/dev/full", 1, "the answers cannot be printed (No space left on device)"),
        ("dryingsim --help >&-", 1, "standard output is closed: there is nowhere to print to"),
        ("dryingsim nwe 2>/dev/full", 2, ""),
        ("dryingsim nwe 2>&-", 2, ""),
        (
            "dryingsim list cuts | true; exit ${PIPESTATUS[0]}",
            1,
            "",
        ),  # a reader that is gone before anything is written,
    ],
)
def test_a_stream_that_fails_is_one_line_and_an_exit_code(line, code, says):
    done = shell(line)
    assert done.returncode == code
    assert done.stderr == (f"dryingsim: {says}\n" if says else "")


def test_letters_that_the_screen_has_not_come_out_as_numbers(tmp_path):
    line = f"cd {tmp_path}; dryingsim new R\u00f4ti.toml"
    done = shell(line, PYTHONIOENCODING="ascii", PYTHONPATH=os.environ.get("PYTHONPATH", ""))
    assert done.stderr == ""
    assert "Wrote R\\u00f4ti.toml" in done.stdout


def test_a_setting_for_windows_does_not_matter(tmp_path):
    code = "from dryingsim.cli.main import app\ntry: app(['--version'])\nexcept SystemExit: pass\nimport matplotlib.figure"
    done = subprocess.run(
        [sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=60,
        env={**os.environ, "MPLBACKEND": "bogus"},
    )
    assert (done.returncode, done.stderr) == (0, "")


# ---- what can go wrong without a fault of the program


@pytest.mark.parametrize(
    ("error", "code", "says"),
    [
        (OSError(28, "No space left on device"), 1, "No space left on device"),
        (FileNotFoundError(2, "No such file or directory", "gone/chunk"), 1, "gone/chunk: No such file"),
        (MemoryError(), 1, "not enough memory"),
        (BrokenProcessPool("A process in the process pool was terminated abruptly"), 1, "--workers"),
        (OutputError("cannot"), 1, "cannot"),
    ],
)
def test_what_fails_around_the_program_is_one_line(error, code, says):
    def fail() -> None:
        raise error

    outer = typer.Typer(cls=OneLineErrors, pretty_exceptions_enable=False)
    outer.command()(fail)
    outer.command("other")(fail)
    result = invoke("fail", command=outer)
    assert result.exit_code == code
    assert len(result.stderr.splitlines()) == 1
    assert says in result.stderr
    assert outcome(ZeroDivisionError()) is None


def test_warnings_of_libraries_stay_off_the_screen(capsys):
    with warnings.catch_warnings():
        warnings.simplefilter("always")
        before = warnings.showwarning
        with outlets():
            warnings.warn("Glyph 29275 missing", UserWarning, stacklevel=1)
        assert warnings.showwarning is before
    assert capsys.readouterr() == ("", "")


def test_how_something_was_taken_is_told_once(capsys):
    with outlets():
        for _ in range(2):
            to_si("--time", "overnight", "duration")
    assert capsys.readouterr() == ("", "dryingsim: --time = 'overnight' is taken as 10 h\n")


@pytest.mark.parametrize("name", ["x" * 300 + ".toml", "file/below.toml", "."])
def test_a_place_that_cannot_be_is_an_input_mistake(tmp_path, monkeypatch, name):
    monkeypatch.chdir(tmp_path)
    Path("file").write_text("mine")
    result = invoke("new", name, "--force")
    assert result.exit_code == 2
    assert len(result.stderr.splitlines()) == 1
    assert [one.name for one in tmp_path.iterdir()] == ["file"]


def test_the_longest_name_can_be_written(tmp_path):
    name = "x" * 250 + ".toml"
    assert invoke("new", tmp_path / name).exit_code == 0
    assert (tmp_path / name).read_text(encoding="utf-8") == demo_text()


def test_a_device_is_never_replaced_by_a_file(tmp_path):
    place = tmp_path / "pipe"
    os.mkfifo(place)
    result = invoke("new", place, "--force")
    assert (result.exit_code, place.is_fifo()) == (2, True)


# ---- text leaves harmless


def test_control_characters_are_shown_not_obeyed():
    shown = visible(HOSTILE)
    assert shown == "\\u001b[2J\\u0007 \\u009b31m \\u202etxt.exe\\u2066 \\u0000\\u000d"
    assert json.loads(f'"{shown}"') == HOSTILE  # JSON on a screen stays exact
    assert visible("Rôti 牛 \t\n 70 °C é") == "Rôti 牛 \t\n 70 °C é"
    assert html_text("<b>\x1b\u202e") == "&lt;b&gt;\\u001b\\u202e"


@pytest.mark.parametrize("args", [["run"], ["learn", "x.csv"], ["report"], ["logbook"], ["thermometer"]])
def test_a_hostile_name_does_not_reach_the_screen(args):
    result = invoke(args[0], f"a{HOSTILE.replace(chr(0), '')}.csv", *args[1:])
    assert result.exit_code == 2
    for stream in (result.stdout, result.stderr):
        assert not set(stream) & set("\x1b\x07\x9b\r\u202e\u2066")
    assert "\\u202etxt.exe" in result.stderr


class Screen(io.StringIO):
    def isatty(self):
        return True


def test_tables_on_a_terminal_colour_their_words_and_show_controls(monkeypatch):
    for name in ("NO_COLOR", "TERM"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm")
    screen = Screen()
    table = Table([Column(("a", "", "[red]b"), ["c\u202e"])], ["n\x9b"])
    print_document(Document("t\x1b[8m", [table, Sentence("w\x9b", "L\x1b[8m")]), file=Outlet(screen))
    text = screen.getvalue()
    assert "\x1b[1m" in text  # its own bold
    assert "\x1b[8m" not in text
    assert "\u202e" not in text
    assert "\x9b" not in text
    assert "[red]b" in text


def test_what_is_piped_goes_through_the_outlet_too():
    stream = io.StringIO()
    console_on(Outlet(stream)).print("a\u202eb")
    assert stream.getvalue() == "a\\u202eb\n"
