"""The records of `validation/` as tests, in their reduced form; `STUDIES` run with `python -m validation` alone."""

import subprocess
import sys
from pathlib import Path

import pytest

sys.path.insert(
    0, str(Path(__file__).resolve().parents[1])
)  # the records are not part of the installed package

from validation.case import run
from validation.data import SHARED, table
from validation.mutations import MUTATIONS, in_fresh_process, noticed
from validation.subjects import SUBJECTS, cases_of

# Whole studies on made data: what they are made of is tested with a log or a batch each in tests/learn and tests/explore.
STUDIES = {"learning", "logged_batches", "screening"}


def records():
    assert set(SUBJECTS) >= STUDIES
    for subject in SUBJECTS:
        for case in () if subject in STUDIES else cases_of(subject):
            marks = [pytest.mark.slow] if case.slow else []
            if (
                case.known_failure
            ):  # run all the same, strictly: a failure that has been mended must be noticed
                marks.append(pytest.mark.xfail(reason=case.known_failure, strict=True))
            yield pytest.param(case, id=f"{subject}: {case.name}", marks=marks)


@pytest.mark.parametrize("case", list(records()))
def test_record(case):
    if not case.available:
        pytest.skip(f"{case.requires} is not installed")
    outcome = run(case, full=False)
    assert not outcome.error
    assert outcome.passed, (
        f"{case.name}: computed {outcome.computed[outcome.worst]:.6g}, expected {outcome.expected[outcome.worst]:.6g} "
        f"({case.bound}), deviation {outcome.deviation:.3g}, allowed {outcome.tolerance:.3g}; {case.reason}"
    )


@pytest.mark.parametrize("path", sorted(SHARED.glob("*.csv")), ids=lambda p: p.stem)
def test_reference_file_says_where_it_comes_from(path):
    read = table(path.stem)
    assert {"source", "status", "licence"} <= set(read.head)
    assert read.rows
    assert None not in {key for row in read.rows for key in row}  # no row longer than the head


def test_names_of_cases_are_unique():
    names = [(subject, case.name) for subject in SUBJECTS for case in cases_of(subject)]
    assert len(set(names)) == len(names)


def test_every_fault_is_put_into_something_there_is():
    code = "from validation.mutations import MUTATIONS\nfor mutation in MUTATIONS:\n    mutation.apply()"
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=SHARED.parent, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr


@pytest.fixture(scope="module")
def sound():
    return in_fresh_process(None, ("faces",))


@pytest.mark.slow
@pytest.mark.parametrize("name", ["Ackermann correction dropped", "still air: faces swapped"])
def test_a_fault_put_in_on_purpose_is_noticed(name, sound):
    assert name in {mutation.name for mutation in MUTATIONS}
    assert all(sound.values())
    assert noticed(sound, in_fresh_process(name, ("faces",)))
