"""`python -m validation [SUBJECT or FOLDER ...] [--full] [--list]`, from the root of the checkout."""

import argparse
import difflib
import sys

from validation import report
from validation.case import KINDS, Outcome, run
from validation.subjects import FOLDER_OF, SUBJECTS, SUBJECTS_OF, cases_of


def main() -> int:
    """Run the cases; 1 on a miss."""
    parser = argparse.ArgumentParser(
        prog="python -m validation", description="Check the package against sources."
    )
    parser.add_argument(
        "subject", nargs="*", help="subjects, or folders of them, to run; all if none is named"
    )
    parser.add_argument("--full", action="store_true", help="finer grids in the slow cases")
    parser.add_argument("--list", action="store_true", help="show subjects and cases, run nothing")
    options = parser.parse_args()
    known = (*SUBJECTS_OF, *SUBJECTS)
    for name in options.subject:
        if name not in known:
            near = difflib.get_close_matches(name, known, n=1)
            hint = f"did you mean {near[0]!r}? " if near else ""
            parser.error(f"subject {name!r} is not known; {hint}known: {', '.join(known)}")
    chosen = [s for s in SUBJECTS if {s, FOLDER_OF[s]} & set(options.subject)] or list(SUBJECTS)
    if options.list:
        show_list(chosen)
        return 0
    outcomes = {subject: run_subject(subject, options.full) for subject in chosen}
    everything = [o for group in outcomes.values() for o in group]
    print(report.aligned(report.totals_table(everything)))
    for line in report.remarks(everything):
        print(line)
    print(f"report: {report.write(outcomes, options.full)}")
    misses = [o.case.name for o in everything if o.verdict == "MISS"]
    for name in misses:
        print(f"MISS: {name}")
    return 1 if misses else 0


def show_list(subjects: list[str]) -> None:
    """Print what there is."""
    for subject in subjects:
        print(subject)
        for case in cases_of(subject):
            print(f"  {case.kind} {KINDS[case.kind]:<22} {case.name}")


def run_subject(subject: str, full: bool) -> list[Outcome]:
    """Run one subject and print its table; on a terminal the running case is shown meanwhile."""
    outcomes, cases = [], cases_of(subject)
    for k, case in enumerate(cases):
        progress(f"{subject} {k + 1}/{len(cases)}: {case.name}")
        outcomes.append(run(case, full))
    progress("")
    print(f"{report.title(subject)} ({sum(o.seconds for o in outcomes):.1f} s)")
    print(report.text_table(outcomes), end="\n\n")
    return outcomes


def progress(text: str) -> None:
    """Replace the line on the terminal; silent elsewhere."""
    if sys.stderr.isatty():
        print(f"\r\x1b[2K{text[:100]}", end="", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
