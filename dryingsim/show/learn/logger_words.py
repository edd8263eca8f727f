"""What the readings of loggers are to a fit of weighings, in words."""

from dryingsim.batch.reading.weigh_in_file import TOGETHER_S
from dryingsim.learn.fit import Fit
from dryingsim.show.core.quantities import spoken
from dryingsim.show.thermometer.logger_text import what_was_read

_HUMIDITY = ("wet_bulb", "dew_point", "relative_humidity")


def logger_sentences(found: Fit) -> list[str]:
    """Return what was read of loggers that the logs of a fit name, and how it counts."""
    told = []
    for part in found.problem.parts:
        log = part.logged.log
        for logger in log.loggers:
            count = sum(1 for reading in log.readings if reading.file == logger.name)
            told += [
                what_was_read(logger),
                f"{count} readings of {logger.name} count, means over 10 min every {spoken(TOGETHER_S)}: what lies between "
                "errs alike.",
            ]
            if part.logged.batch.appliance is None and any(key in logger.values for key in _HUMIDITY):
                told.append(
                    "Its humidity is left aside: the batch file states the air, and nothing of it is learned."
                )
    return told
