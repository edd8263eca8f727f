"""One case of the fuzz: made from a number, run as a person would run it, and judged by what every failure must be."""

import contextlib
import json
import os
import random
import re
import signal
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import mutations
from typer.testing import CliRunner, Result
from valid_commands import COMMANDS, Command

from dryingsim.cli.main import app

LIMIT_S = 20.0
_ENVIRONMENT = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
_WORDS = tuple(dict.fromkeys(word for command in COMMANDS for word in command.words))
# what only somebody who reads the program would understand
_JARGON = re.compile(
    r"Traceback|NoneType|<class|object at 0x|KeyError|ValueError|TypeError|numpy|ndarray|\bdict\b|\btuple\b|\bstr\b|"
    r"codec can't|unpack|subscriptable|Errno|__\w+__|sys\.|\('\w+',"
)
_UNSOLVED = re.compile(
    r"cannot be (solved|written)|could not be|stopped|gave up|given up|does not close|no solution"
)
_PLACE = re.compile(r"--?[a-z][a-z-]*|[A-Z]{3,}|\bline \d+|\[\[?[\w. ]+\]\]?|'dryingsim( [\w-]+)? --help'")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


class TookTooLong(BaseException):
    """A case is still at work when its time is over."""


@dataclass(frozen=True, slots=True)
class Case:
    """A command with its files, after the slips."""

    number: int
    words: tuple[str, ...]
    files: dict[str, bytes]

    def told(self) -> str:
        """Return it so that it can be typed again: in Python, with every byte of the files."""
        files = "".join(f"    {name!r}: {_short(content)},\n" for name, content in self.files.items())
        return f"case {self.number}: dryingsim {self.words!r}\nfiles = {{\n{files}}}"


def _short(content: bytes) -> str:
    """Return bytes as Python reads them, a long run of one letter by its length."""
    return re.sub(r"([^\\])\1{199,}", lambda run: f"' b'{run[1]}' * {len(run[0])} b'", repr(content))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a case, and what is wrong with that (nothing, where it is as it should be)."""

    case: Case
    exit_code: int
    message: str
    seconds: float
    faults: tuple[str, ...]


def case_of(number: int) -> Case:
    """Return the case of a number, ever the same."""
    rng = random.Random(number)
    command = rng.choices(COMMANDS, [one.share for one in COMMANDS])[0]
    words, files = command.words, dict(command.files)
    for _ in range(command.least_slips + rng.choice((0, 0, 0, 0, 1, 1, 2))):
        words = _slip(rng, command, words, files)
    return Case(number, words, files)


def _slip(
    rng: random.Random, command: Command, words: tuple[str, ...], files: dict[str, bytes]
) -> tuple[str, ...]:
    """Change a file in place, or return other words."""
    if not files or rng.random() < 0.25:
        return mutations.words_changed(rng, words, _WORDS, tuple(command.files))
    name = rng.choice(list(files))
    if rng.random() < 0.08:
        files[name] = mutations.as_bytes(rng, files[name])
        return words
    changes = mutations.CSV if name.endswith(".csv") else mutations.TOML
    # bytes that are no UTF-8 are kept as they are
    changed = rng.choice(changes)(rng, files[name].decode("utf-8", "surrogateescape"))
    files[name] = changed.encode("utf-8", "surrogateescape")
    return words


@contextlib.contextmanager
def _alarm(seconds: float) -> Iterator[None]:
    """Stop what takes longer; where there is no such alarm (Windows) nothing does."""
    if not hasattr(signal, "setitimer"):
        yield
        return

    def ring(*_: object) -> None:
        raise TookTooLong

    before = signal.signal(signal.SIGALRM, ring)
    signal.setitimer(signal.ITIMER_REAL, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
        signal.signal(signal.SIGALRM, before)


def run(case: Case, folder: Path) -> Outcome:
    """Run a case in an empty folder and judge it."""
    for name, content in case.files.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_bytes(content)
    (folder / "taken").write_text("a file of somebody else", encoding="utf-8")
    before = _content(folder)
    began, home = time.perf_counter(), Path.cwd()
    os.chdir(folder)
    try:
        with _alarm(LIMIT_S):
            result = CliRunner().invoke(app, list(case.words), env=_ENVIRONMENT, prog_name="dryingsim")
    except TookTooLong:
        return Outcome(case, -1, "", LIMIT_S, (f"took longer than {LIMIT_S:g} s",))
    finally:
        os.chdir(home)
    seconds = time.perf_counter() - began
    faults = [*_faults(case, result), *_faults_of_files(result.exit_code, before, _content(folder))]
    return Outcome(case, result.exit_code, result.stderr.strip(), seconds, tuple(faults))


def _content(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()
    }


def _faults(case: Case, result: Result) -> Iterator[str]:
    error = result.exception
    if error is not None and not isinstance(error, SystemExit):
        yield f"traceback: {_where(error)}"
        return
    out, err, code = result.stdout, result.stderr, result.exit_code
    if "Traceback" in out + err:
        yield "a traceback is printed"
    control = _CONTROL.search(out + err)
    if control:
        yield f"the control character {control[0]!r} is printed"
    if code == 0:
        yield from _faults_of_success(case, out)
    elif code not in (1, 2):
        yield f"exit code {code}"
    elif code == 1 and not _UNSOLVED.search(err):
        yield "exit code 1, but not said what could not be solved"
    elif "Usage: dryingsim" not in out + err:  # nothing was asked for: the help is the answer
        yield from _faults_of_message(case, out, err)


def _where(error: BaseException) -> str:
    """Return what was raised and the last place of the package that it came through."""
    place, trace = "", error.__traceback__
    while trace is not None:
        name = trace.tb_frame.f_code.co_filename
        if "dryingsim" in name:
            place = f"{name[name.rindex('dryingsim') :]}:{trace.tb_lineno} {trace.tb_frame.f_code.co_name}"
        trace = trace.tb_next
    return f"{type(error).__name__}: {str(error)[:200]} ({place})"


def _faults_of_success(case: Case, out: str) -> Iterator[str]:
    typed = b" ".join(case.files.values()).lower() + " ".join(case.words).lower().encode("utf-8", "replace")
    if re.search(r"\bnan\b|\binf\b", out.lower()) and b"nan" not in typed and b"inf" not in typed:
        yield "prints nan or inf"
    if out.startswith("{"):
        try:
            json.loads(out, parse_constant=lambda name: int(f"{name} is no JSON"))
        except ValueError as fault:
            yield f"prints no JSON: {fault}"


def _faults_of_message(case: Case, out: str, err: str) -> Iterator[str]:
    lines = err.strip().split("\n")
    message = lines[-1]
    if out:
        yield "something is printed besides the message"
    if len(lines) > 2 or not message.startswith("dryingsim: "):
        yield f"{len(lines)} lines in place of a message in one line"
    if _JARGON.search(message):
        yield "a message of the program's inner life"
    if len(message) > 700:
        yield f"a message of {len(message)} letters"
    if not _placed(case, message):
        yield "a message that names no file, key, option or line"


def _placed(case: Case, message: str) -> bool:
    """Return whether a message names a file, a key, an option or a line, or what was typed on the command line."""
    named = [
        one for word in case.words[1:] for one in (word[:40], repr(word)[:40], str(Path(word))) if one.strip()
    ]
    return bool(_PLACE.search(message)) or any(one in message for one in (*named, *case.files))


def _faults_of_files(code: int, before: dict[str, bytes], after: dict[str, bytes]) -> Iterator[str]:
    parts = [name for name in after if name.endswith(".part")]
    if parts:
        yield f"left behind: {parts[0]}"
    if code == 0:
        return
    for name in sorted({*before, *after}):
        if before.get(name) != after.get(name):
            yield f"{name} was written, though it came to nothing"
