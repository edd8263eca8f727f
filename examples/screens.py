"""The first screen of every command on the example files, in one page: `python examples/screens.py` writes `screens.md`.

Tests check the page line by line, so that it always shows what is printed today.
"""

import contextlib
import io
import os
import shlex
from pathlib import Path

from dryingsim.cli.main import app
from dryingsim.cli.options import UNITS_VARIABLE

FOLDER = Path(__file__).resolve().parent
PAGE = FOLDER / "screens.md"
COMMANDS = (
    "run",
    "run --units us",
    "run climate_chamber.toml",
    "run humid_hour.toml",
    "run minced_strips.toml",
    "run oven_door_ajar.toml",
    "run own_dehydrator_batch.toml",
    "run stacked_dehydrator.toml --units us",
    "run uneven_slices.toml",
    "spread uneven_slices.toml --slices 200 --workers 1",
    "compare humid_hour.toml climate_chamber.toml",
    'compare humid_hour.toml --vary "meat.thickness = 4, 5, 6 mm"',
    'map uneven_slices.toml --over "meat.weight = 500, 700 g" --over "stage.1.air = 60, 68 degC" --workers 1',
    "store stacked_dehydrator.toml --package jar",
    'store --weight "200 g" --raw "480 g" --salt "15 g/kg" --package "zip bag"',
    "marinate",
    'firm --thickness "60 mm" --width "90 mm" --length "150 mm"',
    'load --weight "1.5 lb" --thickness "0.2 inch" --length "5 inch" --width "2 inch" --units us',
    "thermometer thermometer_log.csv",
    'thermometer logger_file.csv --species beef --thickness "5 mm"',
    "learn stacked_dehydrator.toml weigh_ins.csv",
    "plan plan_next_batch.toml --workers 1",
    "list cuts",
    'list appliances "oven with fan" --units us',
    'measure boiling --shows "208 degF" --step "1 degF" --altitude "1500 ft" --limit "160 degF" --units us',
)
_HEAD = (
    "# First screens\n\nWhat each command prints on the files of this folder, before anybody asks for more with `--details`. "
    "Written by `python examples/screens.py`.\n"
)


def screen(command: str) -> str:
    """Return what a command prints on standard output, as where it is piped."""
    out, before = io.StringIO(), Path.cwd()
    os.environ.pop(UNITS_VARIABLE, None)  # whatever the person's own units are
    os.chdir(FOLDER)
    try:
        with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
            app(shlex.split(command), standalone_mode=False)
    finally:
        os.chdir(before)
    return out.getvalue().rstrip()


def section(command: str) -> str:
    """Return the part of the page that shows a command."""
    return f"\n## `dryingsim {command}`\n\n```text\n{screen(command)}\n```\n"


def stored() -> dict[str, str]:
    """Return the sections as they stand in the page, by command."""
    _, *parts = PAGE.read_text(encoding="utf-8").split("\n## `dryingsim ")
    return {part.partition("`\n")[0]: f"\n## `dryingsim {part}" for part in parts}


if __name__ == "__main__":
    PAGE.write_text(_HEAD + "".join(map(section, COMMANDS)), encoding="utf-8")
