"""`dryingsim examples`: write the examples, the lessons, the guide and what they read."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import Force
from dryingsim.cli.shared import save
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole

_PARTS = ("examples", "validation/theory.md", "shared")  # beside each other, as their links say
_PACKAGE = Path(__file__).resolve().parents[1]


def examples(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to write them; made if it is not there.")
    ] = Path(),
    force: Force = False,
) -> None:
    """Write the example batches, the user's guide, the lessons, the theory page and the data they read.

    In FOLDER, or here, come 'examples' (start with examples/guide.md), 'validation' (theory.md) and 'shared'.
    """
    found = shipped()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise InputError(f"{folder} is a file; a folder is expected") from None
    except OSError as error:
        raise InputError(f"{folder} cannot be made ({error.strerror or error})") from None
    there = [name for name in found if (folder / name).exists()]
    if there and not force:
        raise InputError(
            f"{folder / there[0]} exists already; choose another folder, or overwrite what is there with --force"
        )
    save(lambda: [_written(folder / name, path) for name, path in found.items()], announce=False)
    typer.echo(f"Wrote {len(found)} files. Read first: {folder / 'examples' / 'guide.md'}")


def shipped() -> dict[str, Path]:
    """Return the files that come with the package, by their place beside each other.

    A built package holds copies of them; in a checkout they are where they are kept.
    """
    home = _PACKAGE / "shipped"
    home = home if home.is_dir() else _PACKAGE.parent
    paths = [path for part in _PARTS for path in sorted([home / part, *(home / part).rglob("*")])]
    return {
        path.relative_to(home).as_posix(): path
        for path in paths
        if path.is_file() and not any(one.startswith((".", "__")) for one in path.relative_to(home).parts)
    }


def _written(target: Path, source: Path) -> Path:
    target.parent.mkdir(parents=True, exist_ok=True)
    return write_whole(target, source.read_bytes())
