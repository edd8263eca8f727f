"""Commands interrupted at random moments: `python -m validation.numerics.interruptions [--times 40] [--seed 1] [--keep]`.

Takes a quarter of an hour, on Linux only.

A command with two workers is started in a folder that holds an older result of other work, and stopped dead at a moment
drawn evenly from the time that it takes. Asked then: is the older result whole (every file old, or every file new)? Is a
process left ten seconds later? Does the same command, run again, give the result of a run that nobody disturbed, to the
last bit, and leave nothing else in the folder? Ends with 1 unless all of them pass.
"""

import argparse
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from dryingsim.batch.reading.batch_file import demo_text

SPREAD = ("spread", "--slices", "4608", "--workers", "2", "--seed")  # six chunks
MAP = ("map", "--workers", "2", "--over")  # keeps no chunks: it is done again whole
_MARK = "DRYINGSIM_INTERRUPTED"
_LEFT_S, _ENDED_S = 10.0, 120.0
Files = dict[str, bytes]


@dataclass(frozen=True)
class Job:
    """A command, the same with other inputs (the older result), and what both write."""

    new: tuple[str, ...]
    old: tuple[str, ...]
    takes_s: float
    result: Files
    older: Files


def started(words: tuple[str, ...], file: Path, out: Path, mark: str) -> subprocess.Popen[str]:
    """Start a command, its processes marked by their environment."""
    command = [
        sys.executable,
        "-m",
        "dryingsim",
        words[0],
        str(file),
        *words[1:],
        "--out",
        str(out),
        "--quiet",
    ]
    environment = {**os.environ, _MARK: mark, "OMP_NUM_THREADS": "1"}
    return subprocess.Popen(
        command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True
    )


def files_in(folder: Path) -> Files:
    """Content of every file of a folder."""
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.exists() else {}


def processes_left(mark: str) -> list[int]:
    """Living processes that carry a mark."""
    found = []
    for place in Path("/proc").glob("[0-9]*"):
        try:
            marked = f"{_MARK}={mark}".encode() in (place / "environ").read_bytes().split(b"\0")
            if marked and b"\nState:\tZ" not in (place / "status").read_bytes():
                found.append(int(place.name))
        except OSError:  # gone meanwhile, or another person's
            continue
    return found


def prepared(new: tuple[str, ...], old: tuple[str, ...], file: Path, folder: Path) -> Job:
    """Run a command undisturbed, twice: with the inputs of the older result, then with those that will be interrupted."""
    results: list[Files] = []
    seconds = 0.0
    for number, words in enumerate((old, new)):
        begun = time.monotonic()
        process = started(words, file, folder / str(number), "undisturbed")
        _, said = process.communicate()
        seconds = time.monotonic() - begun
        if process.returncode:
            raise RuntimeError(f"{' '.join(words)} ended with {process.returncode}: {said}")
        results.append(files_in(folder / str(number)))
    return Job(new, old, seconds, results[1], results[0])


# --- ways to interrupt: what is done to a running command; the exit codes it may end with ---------------------------------
def to_parent(number: int) -> Callable[[subprocess.Popen[str], str], None]:
    return lambda process, mark: process.send_signal(number)


def to_workers(process: subprocess.Popen[str], mark: str) -> None:
    """SIGKILL for all workers, once."""
    for pid in processes_left(mark):
        if pid != process.pid:
            try:
                os.kill(pid, signal.SIGKILL)
            except ProcessLookupError:
                continue


def to_all_workers_always(process: subprocess.Popen[str], mark: str) -> None:
    """SIGKILL for all workers, and for those that take their places, until the command gives up."""
    limit = time.monotonic() + _ENDED_S
    while process.poll() is None and time.monotonic() < limit:
        to_workers(process, mark)
        time.sleep(0.02)


WAYS: dict[str, tuple[Callable[[subprocess.Popen[str], str], None], tuple[int, ...]]] = {
    "SIGTERM": (to_parent(signal.SIGTERM), (143, -signal.SIGTERM, 0)),
    "SIGKILL": (to_parent(signal.SIGKILL), (-signal.SIGKILL, 0)),
    "workers once": (to_workers, (0,)),
    "workers always": (to_all_workers_always, (1, 0)),
}
_TURNS = 4 * ["SIGTERM", "SIGKILL"] + ["workers once", "workers always"]


def started_and_left(job: Job, file: Path, out: Path, mark: str) -> tuple[subprocess.Popen[str], float]:
    """Start a command beside an older result and wait for a random moment while it runs; return also when that is [s]."""
    longest = job.takes_s
    while True:
        for name, content in job.older.items():
            (out / name).write_bytes(content)
        moment, begun = random.uniform(0.0, longest), time.monotonic()
        process = started(job.new, file, out, mark)
        while time.monotonic() < begun + moment and process.poll() is None:
            time.sleep(0.005)
        if process.poll() is None:
            return process, moment
        longest = time.monotonic() - begun  # done before: the machine is faster now; once more
        process.communicate()


def interrupt(job: Job, way: str, file: Path, out: Path, mark: str) -> dict[str, bool]:
    """Interrupt a command once and run it again; return what was asked, and whether it holds."""
    how, codes = WAYS[way]
    process, after_s = started_and_left(job, file, out, mark)
    how(process, mark)
    _, said = process.communicate(timeout=_ENDED_S)
    limit = time.monotonic() + _LEFT_S
    while processes_left(mark) and time.monotonic() < limit:
        time.sleep(0.05)
    left = processes_left(mark)
    there = files_in(out)
    shown = {name: there.get(name) for name in job.older}
    chunks = [name for name in there if name.startswith("finished-") and name.endswith(".chunk")]
    again = started(job.new, file, out, f"{mark}-again")
    _, complaint = again.communicate(timeout=_ENDED_S)
    found = {
        "ended as it should": process.returncode in codes and "Traceback" not in said,
        "older or newer result whole": shown in (job.older, job.result),
        "no process left": not left,
        "resumed without complaint": again.returncode == 0 and not complaint.strip(),
        "resumed to the last bit": {name: files_in(out).get(name) for name in job.result} == job.result,
        "nothing else in the folder": set(files_in(out)) == set(job.result),
    }
    last = said.strip().splitlines()[-1:]
    print(
        f"{mark}: {job.new[0]}, {way} after {after_s:.1f} of {job.takes_s:.1f} s: exit {process.returncode}, "
        f"{len(chunks)} chunks kept{', new result' if shown == job.result else ''}; "
        f"{', '.join(f'NOT {name}' for name, good in found.items() if not good) or 'all well'} {last}",
        flush=True,
    )
    return found | {"(went on from finished chunks)": bool(chunks)}


def main() -> int:
    """Interrupt; 1 unless everything holds."""
    parser = argparse.ArgumentParser(prog="python -m validation.numerics.interruptions", description=__doc__)
    parser.add_argument("--times", type=int, default=40, help="how often")
    parser.add_argument("--seed", type=int, default=1, help="of the moments")
    parser.add_argument("--keep", action="store_true", help="keep the folders")
    options = parser.parse_args()
    if sys.platform != "linux":
        parser.error("processes are looked for the Linux way")
    random.seed(options.seed)
    place = Path(tempfile.mkdtemp(prefix="interruptions-"))
    file = place / "batch.toml"
    file.write_text(demo_text(), encoding="utf-8")
    jobs = [
        prepared((*SPREAD, "1"), (*SPREAD, "2"), file, place / "spread"),
        prepared(
            (*MAP, "meat.thickness = 3 to 8 mm in 40"),
            (*MAP, "meat.thickness = 3 to 7 mm in 40"),
            file,
            place / "map",
        ),
    ]
    counts: Counter[str] = Counter()
    for number in range(options.times):
        job = jobs[number % 3 == 2]
        out = place / f"{number:03d}"
        out.mkdir()
        way = _TURNS[number % len(_TURNS)]
        counts.update(
            {name: int(good) for name, good in interrupt(job, way, file, out, f"i{number:03d}").items()}
        )
    for name, count in counts.items():
        print(f"{name}: {count} of {options.times}")
    if not options.keep:
        shutil.rmtree(place)
    return int(any(count < options.times for name, count in counts.items() if not name.startswith("(")))


if __name__ == "__main__":
    sys.exit(main())
