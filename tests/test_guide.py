"""Every command of the user guide runs, and what the guide quotes is what comes out."""

import re
import shlex
import shutil
from functools import partial
from itertools import pairwise
from pathlib import Path

import pytest
from typer.testing import CliRunner

from dryingsim.batch.catalog.ingredients import start_text
from dryingsim.batch.reading.batch_file import demo_text, load_batch
from dryingsim.cli.main import app
from dryingsim.learn import fitted_log

pytestmark = pytest.mark.usefixtures("runs_kept")

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
TEXT = (EXAMPLES / "guide.md").read_text(encoding="utf-8")
# what takes long is run small
QUICK = {
    "4000": "64",  # slices
    "examples/uneven_slices.toml": "mine.toml",  # in given air
    "appliance.door.gap = 0, 10, 50 mm": "appliance.door.gap = 25, 50 mm",  # a shut oven takes ten times as long
}
# what takes too long even so is asked for its help: its files and options must exist
HELP_ONLY = ("handout", "learn", "logbook", "report", "plan")
BLOCKS = re.compile(r"^```(sh|text)\n(.*?)^```$", re.DOTALL | re.MULTILINE)


def steps():
    """Yield the commands of the guide, each block with the lines quoted from its last command's output."""
    blocks = [(kind, body.strip("\n").splitlines()) for kind, body in BLOCKS.findall(TEXT)]
    for k, (kind, lines) in enumerate(blocks):
        if kind == "sh":
            quoted = blocks[k + 1][1] if k + 1 < len(blocks) and blocks[k + 1][0] == "text" else []
            yield lines, quoted


def words(line):
    first, *rest = shlex.split(line)
    assert first == "dryingsim", line
    alone = ["--workers", "1"] if rest[0] in ("spread", "map") else []  # other processes take long to start
    return [QUICK.get(word, word) for word in rest] + alone


STEPS = [pytest.param(*step, id=f"{k}-{step[0][-1].split()[1]}") for k, step in enumerate(steps())]


@pytest.fixture(scope="module")
def kitchen(tmp_path_factory):
    """A folder with the examples and the files that earlier commands of the guide have written."""
    folder = tmp_path_factory.mktemp("kitchen")
    shutil.copytree(EXAMPLES, folder / "examples", ignore=shutil.ignore_patterns("lessons", "demo"))
    (folder / "mine.toml").write_text(demo_text(), encoding="utf-8")
    (folder / "soak.toml").write_text(start_text(), encoding="utf-8")
    return folder


@pytest.mark.parametrize(("commands", "quoted"), STEPS)
def test_commands_run_and_say_what_is_quoted(commands, quoted, kitchen, monkeypatch):
    monkeypatch.chdir(kitchen)
    if words(commands[-1])[0] in HELP_ONLY:
        assert_promises(words(commands[-1]))
        assert not quoted
        return
    monkeypatch.setenv("COLUMNS", "110")
    monkeypatch.setenv("NO_COLOR", "1")
    if (
        not quoted
    ):  # `thermometer LOG --batch FILE` prints what fewer draws say: its own tests have all of them
        monkeypatch.setattr(fitted_log, "fit_log", partial(fitted_log.fit_log, draws=64, rounds=3))
    outputs = seen(kitchen)
    for command in commands:
        if command not in outputs:  # the guide asks the same run several times
            typed = words(command)
            for before, name in pairwise(typed):
                if before in ("new", "--new"):
                    Path(name).unlink()
            result = CliRunner().invoke(app, typed)
            assert result.exit_code == 0, result.output
            outputs[command] = result.output
    printed = outputs[commands[-1]].splitlines()
    start = 0
    for line in quoted:
        assert line in printed[start:], f"{line!r} is not in the output"
        start += printed[start:].index(line) + 1


def assert_promises(typed):
    """Check that a command has the options it is shown with, and that the examples it reads are there."""
    shown = CliRunner().invoke(app, [typed[0], "--help"], env={"COLUMNS": "200"}).output
    for word in typed[1:]:
        if word.startswith("-"):
            assert re.search(rf"(^|\s|,){re.escape(word)}\b", shown), word
        elif word.startswith("examples/"):
            assert Path(word).is_file(), word


_SEEN: dict = {}


def seen(folder):
    return _SEEN.setdefault(folder, {})


def test_the_example_for_spread_says_what_is_uncertain():
    uncertainties = load_batch(EXAMPLES / "uneven_slices.toml").uncertainties
    assert uncertainties["thickness_between"].size == pytest.approx(0.12)
    assert uncertainties["setpoint"].shape == "uniform"


def test_inline_commands_and_options_exist():
    known = {c.name or c.callback.__name__ for c in app.registered_commands}
    known |= {group.name for group in app.registered_groups}
    for command, options in re.findall(r"`dryingsim (\w+)([^`]*)`", TEXT):
        assert command in known, command
        grouped = command in {group.name for group in app.registered_groups}
        path = [command, *options.split()[:1]] if grouped else [command]
        shown = CliRunner().invoke(app, [*path, "--help"], env={"COLUMNS": "200"}).output
        for option in re.findall(r"--[\w-]+", options):
            assert option in shown or option == "--help", f"{command} {option}"


def test_every_command_is_in_the_guide():
    known = {c.name or c.callback.__name__ for c in app.registered_commands}
    known |= {group.name for group in app.registered_groups}
    named = set(re.findall(r"dryingsim (\w+)", TEXT))
    assert known <= named


def test_files_and_links_exist():
    for target in re.findall(r"\]\(([^)#]+)\)", TEXT):
        assert (EXAMPLES / target).exists(), target
    for file in re.findall(r"`(?:examples/)?([\w]+\.(?:toml|csv))`", TEXT):
        assert (EXAMPLES / file).is_file() or file in (
            "mine.toml",
            "soak.toml",
            "own.toml",
            "learned.toml",
        ), file
    for file in EXAMPLES.glob("*.*"):
        if file.suffix in (".toml", ".csv"):
            assert file.name in TEXT, f"{file.name} is not in the guide"


def test_links_inside_the_guide_lead_somewhere():
    titles = re.findall(r"^## (.+)$", TEXT, re.MULTILINE)
    anchors = {re.sub(r"[^a-z0-9 -]", "", title.lower()).replace(" ", "-") for title in titles}
    links = set(re.findall(r"\]\(#([^)]+)\)", TEXT))
    assert links
    assert links <= anchors


def test_the_guide_is_cautious():
    assert "A simulation validates no process." in TEXT
    assert not re.search(r"\bis safe\b|\bare safe\b|perfectly safe", TEXT)


def test_grades_are_told_as_the_package_tells_them():
    from dryingsim.judge.grades import GRADES

    for grade in GRADES:
        assert f"| {grade} |" in TEXT
