"""Several logs of one batch: a probe in each of some slices, and loggers of the air alone."""

from collections.abc import Sequence
from pathlib import Path

from dryingsim.batch.reading.logger_file import parse_logger_file
from dryingsim.batch.reading.logger_together import with_air_of
from dryingsim.batch.reading.text_file import read_written_table
from dryingsim.errors import InputError
from dryingsim.judge.thermometer_log import (
    ThermometerLog,
    is_typed,
    log_of_logger,
    read_log_file,
    said_to_start_warm,
)

Part = tuple[str | None, str | None]


def read_logs(
    paths: Sequence[Path], columns: Sequence[str | None], dates: str | None = None, part: Part = (None, None)
) -> list[ThermometerLog]:
    """Return the log of every probe in meat; loggers of the air alone tell those that have no air of their own.

    Parameters
    ----------
    paths : sequence of Path
    columns : sequence of (str or None)
        As for `thermometer_log.read_log_file`, for each of them.
    dates, part
        As for `thermometer_log.read_log_file`.
    """
    if len(paths) == 1:
        return [read_log_file(paths[0], columns=columns[0], dates=dates, part=part)]
    texts = [read_written_table(path) for path in paths]
    each = list(zip(paths, texts, columns, strict=True))
    loggers = [
        None if is_typed(text) else parse_logger_file(text, path.name, said, dates, of_meat=False)
        for path, text, said in each
    ]
    air = [logger for logger in loggers if logger is not None and "meat" not in logger.values]
    if not air:
        return [read_log_file(path, columns=said, dates=dates, part=part) for path, _, said in each]
    if len(air) == len(paths):
        raise InputError(
            f"{paths[0].name}: no column of any log is of meat; say which, for example --columns meat=CH1"
        )
    logs = []
    for (path, text, said), logger in zip(each, loggers, strict=True):
        if logger is None or "meat" in logger.values:
            probe = parse_logger_file(text, path.name, said, dates, part)
            logs.append(log_of_logger(with_air_of(probe, air), started_warm=said_to_start_warm(text)))
    return logs
