"""More cases than the tests have time for: `python tests/fuzz/campaign.py --cases 10000 --from 2000`.

Prints every kind of fault with its shortest case, and the slowest cases; `--messages 100` prints so many different
messages to be read, `--case 7` one case.
"""

import argparse
import re
import shutil
import sys
import tempfile
import warnings
from pathlib import Path

import pytest

sys.path.append(str(Path(__file__).parents[1]))  # helpers of other tests, too
from lightly import lighten
from trial import Outcome, case_of, run


def main() -> None:
    """Run the cases that were asked for."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--from", type=int, default=0, dest="first")
    parser.add_argument("--messages", type=int, default=0)
    parser.add_argument("--case", type=int, nargs="*", default=[])
    asked = parser.parse_args()
    warnings.simplefilter("error")
    lighten(pytest.MonkeyPatch())
    for number in asked.case:
        outcome = _outcome(number)
        print(
            outcome.case.told(), f"exit code {outcome.exit_code}", *outcome.faults, outcome.message, sep="\n"
        )
    if not asked.case:
        found = [_outcome(number) for number in range(asked.first, asked.first + asked.cases)]
        _tell(found)
        _tell_messages(found, asked.messages)


def _outcome(number: int) -> Outcome:
    folder = Path(tempfile.mkdtemp())
    try:
        return run(case_of(number), folder)
    finally:
        shutil.rmtree(folder)


def _tell(found: list[Outcome]) -> None:
    kinds: dict[str, list[Outcome]] = {}
    for one in found:
        for fault in one.faults:
            kinds.setdefault(re.sub(r"\d+|'[^']*'", "#", fault), []).append(one)
    for kind, cases in sorted(kinds.items(), key=lambda pair: -len(pair[1])):
        shortest = min(cases, key=lambda one: len(one.case.told()))
        print(f"\n=== {len(cases)} x {kind}: {[one.case.number for one in cases[:12]]}")
        print(shortest.case.told(), *shortest.faults, shortest.message[:500], sep="\n")
    for one in sorted(found, key=lambda one: -one.seconds)[:10]:
        print(f"{one.seconds:6.2f} s  exit {one.exit_code}  case {one.case.number} {one.case.words[:2]}")
    codes = [one.exit_code for one in found]
    print(
        {code: codes.count(code) for code in sorted(set(codes))}, f"{sum(one.seconds for one in found):.0f} s"
    )


def _tell_messages(found: list[Outcome], count: int) -> None:
    messages: dict[str, str] = {}
    for one in found:
        if one.exit_code:
            messages.setdefault(re.sub(r"'[^']*'|\d+", "#", one.message)[:60], one.message)
    for message in list(messages.values())[:count]:
        print(message[:400])


if __name__ == "__main__":
    main()
