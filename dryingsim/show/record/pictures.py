"""The readings of a record in one picture, with the limits drawn."""

from matplotlib.axes import Axes

from dryingsim.batch.catalog.critical_limits import CriticalLimits
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.style import BLUE, GREY, ORANGE, SKY, open_frame


def draw_readings(axes: Axes, log: ThermometerLog, limits: CriticalLimits, units: Units) -> None:
    """Draw meat and air over time, the come-up's limits as lines, and the humidity where it was logged.

    Parameters
    ----------
    axes : Axes
    log : ThermometerLog
    limits : CriticalLimits
    units : Units
    """
    hours, degrees = log.time_s / 3600.0, units.temperature
    if log.air_temperature_K is not None:
        axes.plot(hours, degrees.value(log.air_temperature_K), color=ORANGE, linewidth=1.2, label="air")
    axes.plot(hours, degrees.value(log.temperature_K), color=BLUE, linewidth=1.6, label="meat")
    for kelvin in limits.come_up_K:
        axes.axhline(float(degrees.value(kelvin)), color=GREY, linestyle="--", linewidth=0.8)
    axes.set_xlabel("time (h)")
    quantities = degrees.symbol
    if log.relative_humidity is not None:
        axes.plot(
            hours, 100.0 * log.relative_humidity, color=SKY, linewidth=1.0, linestyle=":", label="humidity"
        )
        quantities += ", % of humidity"
    axes.set_ylabel(quantities)
    axes.set_ylim(bottom=0.0)
    open_frame(axes)
    axes.legend(loc="lower right", frameon=False)
