"""`dryingsim measure`: two simple tests of an empty appliance, for a description to use in batches; two of a thermometer."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.checks import show
from dryingsim.batch.units import to_si_within
from dryingsim.cli.air_instruments import dial, wick
from dryingsim.cli.fixed_points import boiling, ice
from dryingsim.cli.options import AsJson, Details, Force, UnitsWithoutFile
from dryingsim.cli.shared import Screen, check_free, save
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole

if TYPE_CHECKING:
    from dryingsim.batch.appliance_description import Description
    from dryingsim.batch.schema import Room
    from dryingsim.kitchen.home_tests import Findings, ReadingErrors

app = typer.Typer(
    no_args_is_help=True, help="Get to know your appliance and your thermometer by a simple test."
)

_PAIRS = "'5 min = 38 degC, 10 min = 51 degC'"
Appliance = Annotated[
    str,
    typer.Argument(metavar="NAME|FILE.toml", help="The nearest of 'list appliances', or a file of your own."),
]
RoomTemperature = Annotated[str, typer.Option("--room", metavar="TEMP", help="Of the room.")]
RoomHumidity = Annotated[
    str, typer.Option("--room-humidity", metavar="PERCENT", help="Of the room, relative.")
]
Altitude = Annotated[str, typer.Option(metavar="HEIGHT", help="Of the place above the sea.")]
Thermometer = Annotated[
    str, typer.Option("--thermometer-error", metavar="DIFF", help="Error limit of a reading.")
]
PowerError = Annotated[
    str, typer.Option("--power-error", metavar="PERCENT", help="Error limit of the power.")
]
Out = Annotated[
    Path | None,
    typer.Option(metavar="FILE.toml", help="Write the appliance's description with the findings in it."),
]


@app.callback()
def main() -> None:
    """Get to know your appliance and your thermometer by a simple test."""


@app.command(
    epilog='Example: dryingsim measure pan "stacked dehydrator" --length "250 mm" --width "180 mm" --lost "41 g" '
    '--during "1 h" --air "60 degC" --wet-bulb "30 degC" --room "21 degC" --room-humidity "45 %" --out dryer.toml'
)
def pan(
    appliance: Appliance,
    length: Annotated[str, typer.Option(metavar="LENGTH", help="Of the water, along the air flow.")],
    width: Annotated[str, typer.Option(metavar="LENGTH", help="Of the water, across the air flow.")],
    lost: Annotated[str, typer.Option(metavar="WEIGHT", help="Between the two weighings.")],
    during: Annotated[str, typer.Option(metavar="TIME", help="Between the two weighings.")],
    air: Annotated[str, typer.Option(metavar="TEMP", help="Of the air at the tray.")],
    room: RoomTemperature,
    room_humidity: RoomHumidity,
    wet_bulb: Annotated[str | None, typer.Option(metavar="TEMP", help="Of the air at the tray.")] = None,
    mean_power: Annotated[
        str | None, typer.Option(metavar="POWER", help="Of the whole appliance during the test.")
    ] = None,
    altitude: Altitude = "0 m",
    scale_error: Annotated[str, typer.Option(metavar="WEIGHT", help="Error limit of a weighing.")] = "1 g",
    thermometer_error: Thermometer = "1 K",
    power_error: PowerError = "5 %",
    out: Out = None,
    force: Force = False,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Pan test: how strongly the air sweeps a tray.

    Put a shallow pan of hand-warm water on a middle tray of the empty, shut appliance. Half an hour later weigh it, put
    it back, and weigh it again after the time. With the air's wet bulb or the mean power the fresh air is found too.
    """
    check_free(out, force=force)
    base = _base(appliance)
    if wet_bulb is not None and mean_power is not None:
        raise InputError("--wet-bulb and --mean-power both tell the fresh air: give one of them")
    from dryingsim.kitchen.pan import PanTest, pan_test

    surroundings = _room(room, room_humidity, altitude)
    test = PanTest(
        length_m=to_si_within("--length", length, "length", "20 mm", "1 m"),
        width_m=to_si_within("--width", width, "length", "20 mm", "1 m"),
        lost_kg=to_si_within("--lost", lost, "mass", "1 g", "20 kg"),
        duration_s=to_si_within("--during", during, "duration", "5 min", "48 h"),
        air_K=to_si_within("--air", air, "temperature", "20 degC", "150 degC"),
        wet_bulb_K=_optional("--wet-bulb", wet_bulb, "temperature", "0 degC", "99 degC"),
        power_W=_optional("--mean-power", mean_power, "power", "1 W", "20 kW"),
    )
    errors = _errors(scale_error, thermometer_error, power_error)
    if test.air_K <= surroundings.temperature_K + 5.0:
        raise InputError(
            f"--air = '{air}': the air is expected to be at least 5 K warmer than the room ({room})"
        )
    if test.wet_bulb_K is not None and test.wet_bulb_K >= test.air_K:
        raise InputError(f"--wet-bulb = '{wet_bulb}' is not below the air temperature ({air})")
    found = pan_test(base, surroundings, test, errors)
    _tell(base, found, out, units, Screen(as_json=as_json, details=details))


@app.command(
    name="warm-up",
    epilog='Example: dryingsim measure warm-up dryer.toml --heating "1 min = 45 degC, 5 min = 75 degC" '
    '--cooling "0 min = 68 degC, 40 min = 40 degC" --room "21 degC" --room-humidity "45 %" --out dryer.toml --force',
)
def warm_up(
    appliance: Appliance,
    room: RoomTemperature,
    room_humidity: RoomHumidity,
    heating: Annotated[
        str, typer.Option(metavar="READINGS", help=f"Times since switching on, cold: {_PAIRS}.")
    ] = "",
    cooling: Annotated[
        str, typer.Option(metavar="READINGS", help="Likewise since turning the heat off; the first at 0 min.")
    ] = "",
    power: Annotated[
        str | None, typer.Option(metavar="POWER", help="Of the heater, fully on; else as described.")
    ] = None,
    altitude: Altitude = "0 m",
    thermometer_error: Thermometer = "1 K",
    power_error: PowerError = "5 %",
    out: Out = None,
    force: Force = False,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Warm-up test: heat capacity of the walls and their loss.

    Read the air in the empty, shut appliance: while it heats from cold at full power, before the thermostat first
    switches off; then, once it has been hot for half an hour, after its heat is turned down with the fan left on.
    """
    check_free(out, force=force)
    base = _base(appliance)
    from dryingsim.kitchen.warm_up import WarmUpTest, warm_up_test

    surroundings = _room(room, room_humidity, altitude)
    test = WarmUpTest(
        heating=_readings("--heating", heating),
        cooling=_readings("--cooling", cooling),
        power_W=_optional("--power", power, "power", "10 W", "20 kW"),
    )
    errors = _errors("1 g", thermometer_error, power_error)
    found = warm_up_test(base, surroundings, test, errors)
    _tell(base, found, out, units, Screen(as_json=as_json, details=details))


app.command(
    epilog='Example: dryingsim measure ice --shows "33 degF" --step "1 degF" --limit "160 degF" --units us'
)(ice)
app.command(
    epilog='Example: dryingsim measure boiling --shows "94.1 degC" --step "0.1 K" --altitude "1600 m"'
)(boiling)
app.command(
    epilog='Example: dryingsim measure wick --air "21 degC" --wet-bulb "14.5 degC" --humidity "45 %"'
)(wick)
app.command(
    epilog='Example: dryingsim measure dial --shows "155 degF = 146 degF, 165 degF = 157 degF" --units us'
)(dial)


def _base(appliance: str) -> "Description":
    """Return the description that the test starts from."""
    from dryingsim.batch.reading.appliance_file import named_appliance

    return named_appliance("appliance", appliance)


def _room(temperature: str, humidity: str, altitude: str) -> "Room":
    from dryingsim.batch.schema import Room
    from dryingsim.properties.atmosphere import standard_pressure

    return Room(
        temperature_K=to_si_within("--room", temperature, "temperature", "-10 degC", "50 degC"),
        relative_humidity=to_si_within("--room-humidity", humidity, "fraction", "0 %", "100 %"),
        pressure_Pa=float(
            standard_pressure(to_si_within("--altitude", altitude, "altitude", "-400 m", "5000 m"))
        ),
    )


def _errors(scale: str, thermometer: str, power: str) -> "ReadingErrors":
    from dryingsim.kitchen.home_tests import ReadingErrors

    return ReadingErrors(
        scale_kg=to_si_within("--scale-error", scale, "mass", "0.01 g", "100 g"),
        thermometer_K=to_si_within(
            "--thermometer-error", thermometer, "temperature difference", "0.01 K", "10 K"
        ),
        power_share=to_si_within("--power-error", power, "fraction", "0 %", "50 %"),
    )


def _optional(option: str, typed: str | None, dimension: str, low: str, high: str) -> float | None:
    return None if typed is None else to_si_within(option, typed, dimension, low, high)


def _readings(option: str, typed: str) -> tuple[tuple[float, float], ...]:
    """Return pairs of time [s] and temperature [K]."""
    readings = []
    for part in filter(None, (part.strip() for part in typed.split(","))):
        time, equals, temperature = part.partition("=")
        if not equals:
            raise InputError(f"{option}, {show(part)}: times and temperatures are expected as {_PAIRS}")
        readings.append(
            (
                to_si_within(option, time.strip(), "duration", "0 s", "24 h"),
                to_si_within(option, temperature.strip(), "temperature", "-10 degC", "350 degC"),
            )
        )
    return tuple(readings)


def _tell(base: "Description", findings: "Findings", out: Path | None, units: str, screen: Screen) -> None:
    """Print what a test tells, and write the description if asked to."""
    from dryingsim.show.kitchen.catalog_text import home_test_document

    after = findings.described(base)
    after.appliance(str(out or findings.test))
    screen.show(home_test_document(base, findings, units))
    if out is not None:
        save(lambda: [write_whole(out, after.toml().encode())], announce=False)
        if not screen.as_json:
            typer.echo(f'Wrote {out}. In a batch file: [appliance] with file = "{out}"')
