"""Logs of thermometers read as options say, and judged with the batch they are of: what `thermometer` and `record` share."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from dryingsim.cli.shared import Screen, bar, in_rounds
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.judge.thermometer_log import ThermometerLog
    from dryingsim.learn.logged_estimate import LoggedEstimate

T = TypeVar("T")
_ROUNDS = 10  # of a fit, and of what is looked at after it, as a rule


def logs_read(
    files: Sequence[Path],
    columns: Sequence[str] | None,
    dates: str | None,
    part: tuple[str | None, str | None],
    reads_high: Sequence[str] | None,
) -> "list[ThermometerLog]":
    """Return the log of every probe, less the error of each.

    Parameters
    ----------
    files : sequence of Path
    columns, reads_high : sequence of str, optional
        As typed: once for all, or for each in its order - `columns` of each file, `reads_high` of each probe.
    dates, part
        As for `judge.logs_together.read_logs`.
    """
    from dryingsim.batch.units import to_si_within
    from dryingsim.judge.logs_together import read_logs
    from dryingsim.judge.thermometer_log import without_error

    try:
        logs = read_logs(files, each_of("--columns", columns, len(files), "logs"), dates, part)
    except InputError as error:
        if len(files) == 1 or len(columns or ()) != 1 or not str(error).startswith("--columns"):
            raise
        raise InputError(f"{error}. Or give --columns {len(files)} times, once for each log") from None
    high = [
        0.0 if typed is None else to_si_within("--reads-high", typed, "temperature difference", "0 K", "5 K")
        for typed in each_of("--reads-high", reads_high, len(logs), "probes")
    ]
    return [without_error(log, error_K) for log, error_K in zip(logs, high, strict=True)]


def once(typed: T | None) -> list[T] | None:
    """Return what was typed once, as `each_of` takes it."""
    return None if typed is None else [typed]


def each_of(option: str, typed: Sequence[T] | None, count: int, things: str) -> list[T | None]:
    """Return what was typed for each of some things: nothing, once for all of them, or once for each.

    Parameters
    ----------
    option : str
        Its name, for the message.
    typed : sequence, optional
    count : int
    things : str
        What they are, for the message.
    """
    if not typed:
        return [None] * count
    if len(typed) not in (1, count):
        raise InputError(
            f"{option} stands {len(typed)} times for {count} {things}; give it once for all, or once for each"
        )
    return [*typed] * (count if len(typed) == 1 else 1)


def estimated(
    logs: "Sequence[ThermometerLog]",
    file: Path,
    thickness: Sequence[str] | None,
    tray: Sequence[int] | None,
    weighings: Path | None,
    progress: "Callable[[str], None] | None" = None,
) -> "list[LoggedEstimate]":
    """Return what logs and their batch file say together, log by log.

    Parameters
    ----------
    logs : sequence of ThermometerLog
    file : Path
        The batch file.
    thickness : sequence of str, optional
        Of the probed slices, as typed: once for all, or for each.
    tray : sequence of int, optional
        Likewise, counted from 1.
    weighings : Path, optional
        A log of weights.
    progress : callable, optional
        Called with a word about what is done, as each round begins.
    """
    from dryingsim.batch.units import to_si_within
    from dryingsim.learn.fitted_log import fit_log
    from dryingsim.learn.logged_estimate import estimate
    from dryingsim.learn.logs import described
    from dryingsim.learn.probed_weights import read_weights
    from dryingsim.model.build import with_ideal_thermostat
    from dryingsim.simulate import run

    trays = each_of("--tray", tray, len(logs), "probes")
    below = next((each for each in trays if each is not None and each < 1), None)
    if below is not None:
        raise InputError(f"--tray = {below}: trays count from 1")
    thick = [
        None if typed is None else to_si_within("--thickness", typed, "length", "1 mm", "30 mm")
        for typed in each_of("--thickness", thickness, len(logs), "probes")
    ]
    described_batch = described(file)
    batch, uncertainties = described_batch.batch, described_batch.uncertainties
    weights = [None if weighings is None else read_weights(weighings, batch, each) for each in thick]
    meant = run(with_ideal_thermostat(batch))
    return [
        estimate(
            fit_log(
                log,
                batch,
                uncertainties,
                thickness_m=thickness_m,
                tray=None if place is None else place - 1,
                weights=weighed,
                meant=meant,
                progress=progress,
            )
        )
        for log, thickness_m, place, weighed in zip(logs, thick, trays, weights, strict=True)
    ]


def tell_estimate(
    log: "ThermometerLog",
    file: Path,
    thickness: str | None,
    tray: int | None,
    weighings: Path | None,
    units: str | None,
    screen: Screen,
) -> None:
    """Estimate, and print it.

    Parameters
    ----------
    log, file, thickness, tray, weighings
        As for `estimated`, of one log.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    screen : Screen
    """
    from dryingsim.learn.logged_outlook import outlook
    from dryingsim.show.core.quantities import Units
    from dryingsim.show.thermometer.estimate_text import estimate_document

    with bar(1.0, hidden=screen.bare, patience_s=0.0) as show:
        tell = in_rounds(show, _ROUNDS)
        tell("the batch as it is meant")
        (found,) = estimated([log], file, once(thickness), once(tray), weighings, tell)
        ahead = outlook(found, tell)
    screen.show(estimate_document(found, ahead, Units(found.of.batch, units)))
