"""`dryingsim firm`: how long a piece of meat has to lie in the freezer to be sliced thin."""

from pathlib import Path
from typing import Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Force, UnitsWithoutFile
from dryingsim.cli.shared import Screen, check_free
from dryingsim.errors import InputError
from dryingsim.show.core.atomic_write import write_whole


def firm(
    thickness: Annotated[str, typer.Option(metavar="LENGTH", help="Of the piece: its smallest side.")],
    width: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the piece; a wide slab without it.")
    ] = None,
    length: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the piece; a long one without it.")
    ] = None,
    cut: Annotated[
        str, typer.Option(metavar="NAME", help="As 'dryingsim list cuts' shows it.")
    ] = "beef eye of round",
    start: Annotated[str, typer.Option(metavar="TEMP", help="Of the piece when it goes in.")] = "4 degC",
    freezer: Annotated[str, typer.Option(metavar="TEMP", help="Of the freezer's air.")] = "-18 degC",
    air: Annotated[str, typer.Option(metavar="still|fan", help="How the freezer's air moves.")] = "still",
    salt: Annotated[
        str, typer.Option(metavar="SHARE", help="In the piece, per raw weight: brined meat freezes later.")
    ] = "0 g/kg",
    units: UnitsWithoutFile = "metric",
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="Write temperatures and ice over time, in SI.")
    ] = None,
    force: Force = False,
) -> None:
    """Firm a piece in the freezer: from when to when it can be sliced thin."""
    from dryingsim.batch.catalog.cuts import find_cut
    from dryingsim.batch.checks import check_choice

    check_choice("--air", air, ("still", "fan"))
    check_free(out, force=force)
    thickness_m, width_m, length_m = _sides(thickness, width, length)
    composition = find_cut("--cut", cut).composition
    start_K = to_si_within("--start", start, "temperature", "0 degC", "40 degC")
    freezer_K = to_si_within("--freezer", freezer, "temperature", "-39 degC", "-4 degC")
    salt_kg_kg = to_si_within("--salt", salt, "mass fraction", "0 g/kg", "50 g/kg")

    from dryingsim.kitchen.firming import FILMS, Piece
    from dryingsim.kitchen.firming import firm as work_out
    from dryingsim.show.kitchen.firming_text import firming_csv, firming_data, firming_text
    from dryingsim.show.run.files import json_text

    firming = work_out(
        Piece(
            composition=composition,
            thickness_m=thickness_m,
            width_m=width_m,
            length_m=length_m,
            start_K=start_K,
            freezer_K=freezer_K,
            film=FILMS[air],
            salt_kg_kg=salt_kg_kg,
        )
    )
    screen = Screen(as_json=as_json)
    screen.tell(lambda: json_text(firming_data(firming)), lambda: firming_text(firming, units))
    if out is not None:
        screen.save(lambda: [write_whole(out, firming_csv(firming).encode())])


def _sides(thickness: str, width: str | None, length: str | None) -> tuple[float, float, float]:
    """Return thickness, width and length of the piece [m]; what was not given is endless."""
    smallest = to_si_within("--thickness", thickness, "length", "5 mm", "300 mm")
    others = [float("inf"), float("inf")]
    for number, (option, typed) in enumerate((("--width", width), ("--length", length))):
        if typed is not None:
            others[number] = to_si_within(option, typed, "length", "5 mm", "2 m")
            if others[number] < smallest:
                raise InputError(
                    f"{option} = '{typed}' is less than --thickness = '{thickness}'; that is the smallest side"
                )
    return smallest, others[0], others[1]
