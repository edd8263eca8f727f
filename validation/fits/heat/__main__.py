"""Heat resistance fitted to all published D values, and judged on challenge studies: `python -m validation.fits.heat [--write]`.

The D values give one hierarchical model of log10 D(T, a_w); the challenge studies, through their simulated histories, say what
drying adds and how much rapid heating leaves, and every one of them is judged from the others. `--write` puts the result into the
package and its page beside this file. All of it is seeded: the same inputs give the same files. About two minutes.
"""

import argparse
from pathlib import Path

import dryingsim
from validation.fits.heat.outcome import outcome
from validation.fits.heat.report import page
from validation.fits.heat.result_file import result_file

PAGE = Path(__file__).resolve().parent / "report.md"
RESULT = Path(dryingsim.__file__).resolve().parent / "batch" / "catalog" / "heat_resistance.toml"


def main(arguments: list[str] | None = None) -> None:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m validation.fits.heat", description=__doc__)
    parser.add_argument("--write", action="store_true", help="write the result and the page")
    asked = parser.parse_args(arguments)
    found = outcome()
    text = page(found)
    if asked.write:
        RESULT.write_text(result_file(found), encoding="utf-8")
        PAGE.write_text(text, encoding="utf-8")
    print(text)


if __name__ == "__main__":
    main()
