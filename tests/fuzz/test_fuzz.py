"""Two thousand slips and hostile files over all commands: no traceback, no hang, the right exit code, a message that helps."""

import pytest
from lightly import lighten
from trial import Case, case_of, run
from valid_commands import COMMANDS

CASES, BLOCKS = 2000, 40


@pytest.fixture(autouse=True)
def lightly(monkeypatch):
    lighten(monkeypatch)


@pytest.mark.parametrize("block", range(BLOCKS))
def test_slips_are_told_in_one_line(block, tmp_path):
    wrong = []
    for number in range(block, CASES, BLOCKS):
        folder = tmp_path / str(number)
        folder.mkdir()
        outcome = run(case_of(number), folder)
        if outcome.faults:
            wrong.append("\n".join((outcome.case.told(), *outcome.faults, outcome.message)))
    assert not wrong, "\n\n".join(wrong)


@pytest.mark.parametrize("command", COMMANDS, ids=lambda command: " ".join(command.words)[:60])
def test_commands_work_before_the_slips(command, tmp_path):
    outcome = run(Case(-1, command.words, command.files), tmp_path)
    assert (outcome.exit_code, outcome.faults) == (0, ()), outcome.message


def test_cases_are_the_same_every_time():
    assert [case_of(number) for number in range(50)] == [case_of(number) for number in range(50)]
