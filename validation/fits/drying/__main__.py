"""`python -m validation.fits.drying [--write] [--tables]`, from the root of the checkout."""

import argparse

from validation.fits import drying
from validation.fits.drying.outcome import PAGE, RESULT, outcome, store
from validation.fits.drying.report import page, result_file


def main(arguments: list[str] | None = None) -> None:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m validation.fits.drying", description=drying.__doc__)
    parser.add_argument("--write", action="store_true", help="write the result, the page and the tables")
    parser.add_argument("--tables", action="store_true", help="take the stored tables, simulate nothing")
    asked = parser.parse_args(arguments)
    found = outcome(asked.tables)
    text = page(found)
    if asked.write:
        RESULT.write_text(result_file(found), encoding="utf-8")
        PAGE.write_text(text, encoding="utf-8")
        store(found.emulators)
    print(text)


if __name__ == "__main__":
    main()
