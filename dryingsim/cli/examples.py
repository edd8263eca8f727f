"""`dryingsim examples`: write the examples, the lessons, the guide and what they read; or the kit for a class."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.cli.options import Force
from dryingsim.cli.shared import bar, save
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole

_PARTS = ("examples", "validation/theory.md", "shared")  # beside each other, as their links say
_LESSONS = "examples/lessons/"  # kept as sources that hold the answers; students get notebooks
_PACKAGE = Path(__file__).resolve().parents[1]

ForClass = Annotated[
    bool,
    typer.Option(
        "--class",
        help="Write the kit for a class instead: lessons for students and for the teacher, as notebooks and pages.",
    ),
]


def examples(
    folder: Annotated[
        Path, typer.Argument(metavar="FOLDER", help="Where to write them; made if it is not there.")
    ] = Path(),
    for_class: ForClass = False,
    force: Force = False,
) -> None:
    """Write the example batches, the user's guide, the lessons, the theory page and the data they read.

    In FOLDER, or here, come 'examples' (start with examples/guide.md), 'validation' (theory.md) and 'shared'. With --class come
    'student' (tasks that check themselves, no answers), 'teacher' (with answers and notes) and 'index.html': about a minute.
    """
    _check_folder(folder)
    if for_class:
        _check_nothing_there(folder, _names_of_kit(), force=force)
        files, first = _kit(), "index.html"
    else:
        paths = shipped()
        _check_nothing_there(folder, [*paths, *_student_lessons()], force=force)
        files = {name: path.read_bytes() for name, path in paths.items()} | _student_lessons()
        first = "examples/guide.md"
    save(lambda: [_written(folder / name, content) for name, content in files.items()], announce=False)
    typer.echo(f"Wrote {len(files)} files. Read first: {folder / first}")


def shipped() -> dict[str, Path]:
    """Return the files that are written as they come with the package, by their place beside each other.

    A built package holds copies of them; in a checkout they are where they are kept.
    """
    home = _PACKAGE / "shipped"
    home = home if home.is_dir() else _PACKAGE.parent
    paths = [path for part in _PARTS for path in sorted([home / part, *(home / part).rglob("*")])]
    names = {path.relative_to(home).as_posix(): path for path in paths if path.is_file()}
    return {
        name: path
        for name, path in names.items()
        if not any(one.startswith((".", "__")) for one in path.relative_to(home).parts)
        and not (name.startswith(_LESSONS) and path.suffix == ".py")
    }


def _student_lessons() -> dict[str, bytes]:
    from dryingsim.teaching.class_kit import student_notebooks

    return {f"{_LESSONS}{name}": text.encode() for name, text in student_notebooks().items()}


def _names_of_kit() -> list[str]:
    from dryingsim.teaching.class_kit import kit_names

    return kit_names()


def _kit() -> dict[str, bytes]:
    from dryingsim.teaching.class_kit import class_kit
    from dryingsim.teaching.lesson_source import lesson_names

    with bar(float(len(lesson_names())), hidden=False) as show:
        return {name: text.encode() for name, text in class_kit(show).items()}


def _check_folder(folder: Path) -> None:
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError:
        raise InputError(f"{folder} is a file; a folder is expected") from None
    except OSError as error:
        raise InputError(f"{folder} cannot be made ({error.strerror or error})") from None


def _check_nothing_there(folder: Path, names: list[str], *, force: bool) -> None:
    there = [name for name in names if (folder / name).exists()]
    if there and not force:
        raise InputError(
            f"{folder / there[0]} exists already; choose another folder, or overwrite what is there with --force"
        )


def _written(target: Path, content: bytes) -> Path:
    target.parent.mkdir(parents=True, exist_ok=True)
    return write_whole(target, content)
