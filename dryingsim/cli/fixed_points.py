"""`dryingsim measure ice` and `measure boiling`: how far off a thermometer is, and what it has to show for a limit."""

from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, UnitsWithoutFile
from dryingsim.cli.shared import Screen
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.kitchen.fixed_points import FixedPointCheck

Shows = Annotated[str, typer.Option(metavar="TEMP", help="What the thermometer shows.")]
Step = Annotated[str, typer.Option(metavar="DIFF", help="Step of its display.")]
Limit = Annotated[
    str | None, typer.Option(metavar="TEMP", help="A limit: what has to be shown for it to be reached.")
]


def ice(
    shows: Shows,
    step: Step = "1 K",
    limit: Limit = None,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Ice point: how far off a thermometer is in ice water.

    Fill a cup with crushed ice, then with cold water to its rim; stir, wait, and hold the probe in the middle of the ice.
    """
    from dryingsim.kitchen.fixed_points import ice_check

    read_K = _shown(shows, '"0.5 degC" or "33 degF"')
    _tell(ice_check(read_K, _step(step)), limit, units, Screen(as_json=as_json, details=details))


def boiling(
    shows: Shows,
    step: Step = "1 K",
    altitude: Annotated[
        str | None, typer.Option(metavar="HEIGHT", help="Of the place above the sea; sea level if left out.")
    ] = None,
    pressure: Annotated[
        str | None,
        typer.Option(
            metavar="PRESSURE",
            help="Of the air at the place, instead: '84.5 kPa', not that of a weather report.",
        ),
    ] = None,
    limit: Limit = None,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Boiling point: how far off a thermometer is in boiling water, at your altitude or pressure.

    Hold the probe in plain water that boils strongly, clear of the bottom. Weather alone moves it by almost a degree.
    """
    from dryingsim.kitchen.fixed_points import boiling_check

    if altitude is not None and pressure is not None:
        raise InputError("--altitude and --pressure both tell the boiling point: give one of them")
    height = to_si_within("--altitude", altitude or "0 m", "altitude", "-400 m", "5000 m")
    air = None if pressure is None else to_si_within("--pressure", pressure, "pressure", "50 kPa", "110 kPa")
    check = boiling_check(_shown(shows, '"99 degC" or "211 degF"'), _step(step), height, air)
    _tell(check, limit, units, Screen(as_json=as_json, details=details))


def _shown(typed: str, example: str) -> float:
    return to_si_within("--shows", typed, "temperature", "-30 degC", "150 degC", example)


def _step(typed: str) -> float:
    return to_si_within("--step", typed, "temperature difference", "0.001 K", "5 K")


def _tell(check: "FixedPointCheck", limit: str | None, units: str, screen: Screen) -> None:
    from dryingsim.show.thermometer.instrument_text import check_document

    limit_K = None if limit is None else to_si_within("--limit", limit, "temperature", "0 degC", "150 degC")
    screen.show(check_document(check, units, limit_K))
