"""`dryingsim thermometer LOG --batch FILE`: a log judged with the batch it is of."""

from pathlib import Path
from typing import TYPE_CHECKING

from dryingsim.cli.shared import Screen, bar
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.judge.thermometer_log import ThermometerLog
    from dryingsim.learn.logged_estimate import LoggedEstimate


def estimated(
    log: "ThermometerLog", file: Path, thickness: str | None, tray: int | None, weighings: Path | None
) -> "LoggedEstimate":
    """Return what a log and its batch file say together.

    Parameters
    ----------
    log : ThermometerLog
    file : Path
        The batch file.
    thickness : str, optional
        Of the probed slice, as typed.
    tray : int, optional
        Of the probed slice, counted from 1.
    weighings : Path, optional
        A log of weights.
    """
    from dryingsim.batch.units import to_si_within
    from dryingsim.learn.fitted_log import fit_log
    from dryingsim.learn.logged_estimate import estimate
    from dryingsim.learn.logs import described
    from dryingsim.learn.probed_weights import read_weights

    if tray is not None and tray < 1:
        raise InputError(f"--tray = {tray}: trays count from 1")
    meant = described(file)
    thick = None if thickness is None else to_si_within("--thickness", thickness, "length", "1 mm", "30 mm")
    of = fit_log(
        log,
        meant.batch,
        meant.uncertainties,
        thickness_m=thick,
        tray=None if tray is None else tray - 1,
        weights=None if weighings is None else read_weights(weighings, meant.batch, thick),
    )
    return estimate(of)


def tell_estimate(
    log: "ThermometerLog",
    file: Path,
    thickness: str | None,
    tray: int | None,
    weighings: Path | None,
    units: str,
    read: list[str],
    screen: Screen,
) -> None:
    """Estimate, and print it.

    Parameters
    ----------
    log, file, thickness, tray, weighings
        As for `estimated`.
    units : str
        "metric" or "us".
    read : list of str
        What was made out of a logger's file.
    screen : Screen
    """
    from dryingsim.learn.logged_outlook import outlook
    from dryingsim.show.core.document import Block, labelled, sentences
    from dryingsim.show.core.document import screen as document_of
    from dryingsim.show.core.quantities import Units
    from dryingsim.show.thermometer.estimate_text import first_screen, lines, tables, title, values
    from dryingsim.show.thermometer.outlook_text import outlook_lines, outlook_values

    with bar(None, hidden=screen.bare, patience_s=0.0) as show:
        show(0.0, "slices of this batch in the air as logged")
        found = estimated(log, file, thickness, tray, weighings)
        show(0.5, "going on from the last reading")
        ahead = outlook(found)
    shown = Units(found.of.batch, units)
    ahead_lines = outlook_lines(ahead, shown)
    details: dict[str, list[Block]] = {
        "tables": [*tables(found, shown)],
        "all answers": sentences(*read, *ahead_lines, *lines(found, shown)),
    }
    screen.show(
        document_of(
            title(found),
            [*first_screen(found, shown), *labelled({"READY": ahead_lines[:1]})],
            details,
            lambda: {"read": next(iter(read), None), **values(found), "outlook": outlook_values(ahead)},
        )
    )
