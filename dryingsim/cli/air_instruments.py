"""`dryingsim measure wick` and `measure dial`: a wet bulb against the room, a dial against its air."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, Force, UnitsWithoutFile
from dryingsim.cli.shared import Screen, check_free, save
from dryingsim.errors import InputError


def wick(
    air: Annotated[str, typer.Option(metavar="TEMP", help="What the dry thermometer shows in the room.")],
    wet_bulb: Annotated[
        str, typer.Option(metavar="TEMP", help="What the one with the wet wick shows, before a fan.")
    ],
    humidity: Annotated[str, typer.Option(metavar="PERCENT", help="Of the room, by a hygrometer.")],
    humidity_error: Annotated[
        str, typer.Option(metavar="PERCENT", help="How far the hygrometer may be off.")
    ] = "5 %",
    altitude: Annotated[str, typer.Option(metavar="HEIGHT", help="Of the place above the sea.")] = "0 m",
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Wick: whether a wet bulb shows what the room's humidity says. One that is dry makes air look humid that is not."""
    from dryingsim.kitchen.air_instruments import wick_check
    from dryingsim.show.thermometer.instrument_text import wick_document

    check = wick_check(
        to_si_within("--air", air, "temperature", "0 degC", "90 degC"),
        to_si_within("--wet-bulb", wet_bulb, "temperature", "0 degC", "90 degC"),
        to_si_within("--humidity", humidity, "fraction", "2 %", "98 %"),
        to_si_within("--humidity-error", humidity_error, "fraction", "0.5 %", "20 %"),
        to_si_within("--altitude", altitude, "altitude", "-400 m", "5000 m"),
    )
    Screen(as_json=as_json, details=details).show(wick_document(check, units))


def dial(
    pairs: Annotated[
        str,
        typer.Option(
            "--shows",
            metavar="DIAL = AIR,...",
            help="What was set, and the mean of the air: '155 degF = 146 degF, 165 degF = 157 degF'.",
        ),
    ],
    thermometer_error: Annotated[
        str, typer.Option(metavar="DIFF", help="Of the thermometer in the air.")
    ] = "1 K",
    batch: Annotated[
        Path | None, typer.Option(metavar="BATCH.toml", help="A batch of that appliance, for --out.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            metavar="FILE.toml",
            help="Write the offset; batches name the file under [learned], and set dials.",
        ),
    ] = None,
    force: Force = False,
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Dial: how far the air stands from what is set; batch files and plans then speak of the dial."""
    check_free(out, force=force)
    if out is not None and batch is None:
        raise InputError("--out needs --batch: the file says which appliance it is of")
    from dryingsim.kitchen.air_instruments import dial_check
    from dryingsim.show.core.writing import write_whole
    from dryingsim.show.thermometer.instrument_text import dial_document

    check = dial_check(
        _pairs(pairs),
        to_si_within("--thermometer-error", thermometer_error, "temperature difference", "0.05 K", "5 K"),
    )
    if out is not None and batch is not None:
        content, target = _file(check.offset_K, check.uncertainty_K, batch), out
        save(lambda: [write_whole(target, content)], announce=not as_json)
    Screen(as_json=as_json, details=details).show(dial_document(check, units))


def _pairs(typed: str) -> tuple[tuple[float, float], ...]:
    found = []
    for part in typed.split(","):
        sides = part.split("=")
        if len(sides) != 2:
            raise InputError(
                f"--shows, '{part.strip()}': 'DIAL = AIR' is expected, such as '155 degF = 146 degF'"
            )
        set_K, air_K = (
            to_si_within("--shows", side.strip(), "temperature", "20 degC", "150 degC") for side in sides
        )
        found.append((set_K, air_K))
    return tuple(found)


def _file(offset_K: float, uncertainty_K: float, batch: Path) -> bytes:
    """Return the offset as a file that batches name under [learned]."""
    from dryingsim.batch.learned import appliance_name
    from dryingsim.batch.reading.batch_file import load_batch
    from dryingsim.batch.schema import Correction, Learned
    from dryingsim.batch.writing.learned_file import as_told, learned_toml

    learned = Learned(
        logs=("dial against air",),
        corrections={"setpoint": Correction(value=offset_K, uncertainty=uncertainty_K)},
    )
    about = "dial against air, by 'dryingsim measure dial'"
    return learned_toml(as_told(learned), appliance_name(load_batch(batch)), about).encode("utf-8")
