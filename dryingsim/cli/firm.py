"""`dryingsim firm`: how long a piece of meat has to lie in the freezer to be sliced thin."""

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, Force, Units
from dryingsim.cli.shared import Screen, check_free
from dryingsim.errors import InputError
from dryingsim.show.core.writing import write_whole

if TYPE_CHECKING:
    from dryingsim.batch.schema import Batch, Composition

_MOST_PIECES = 100


def firm(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="BATCH.toml",
            help="Its cut and weight; its slices are as wide and as long as the piece.",
        ),
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the piece: its smallest side.")
    ] = None,
    width: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the piece; a wide slab without it.")
    ] = None,
    length: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of the piece; a long one without it.")
    ] = None,
    weight: Annotated[
        str | None, typer.Option(metavar="WEIGHT", help="Of all pieces, in place of --length.")
    ] = None,
    pieces: Annotated[int, typer.Option(metavar="NUMBER", help="Pieces that the weight is cut into.")] = 1,
    cut: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="As 'dryingsim list cuts' shows it; else the batch's, or beef eye of round."
        ),
    ] = None,
    start: Annotated[str, typer.Option(metavar="TEMP", help="Of the piece when it goes in.")] = "4 degC",
    freezer: Annotated[str, typer.Option(metavar="TEMP", help="Of the freezer's air.")] = "-18 degC",
    air: Annotated[str, typer.Option(metavar="still|fan", help="How the freezer's air moves.")] = "still",
    salt: Annotated[
        str, typer.Option(metavar="SHARE", help="In the piece, per raw weight: brined meat freezes later.")
    ] = "0 g/kg",
    units: Units = None,
    details: Details = False,
    as_json: AsJson = False,
    out: Annotated[
        Path | None, typer.Option(metavar="FILE.csv", help="Write temperatures and ice over time, in SI.")
    ] = None,
    force: Force = False,
) -> None:
    """Firm a piece in the freezer: from when to when it can be sliced thin."""
    from dryingsim.batch.catalog.cuts import find_cut
    from dryingsim.batch.checks import check_choice, check_range
    from dryingsim.batch.reading.batch_file import load_batch

    check_choice("--air", air, ("still", "fan"))
    check_range("--pieces", pieces, pieces, 1, _MOST_PIECES, f"1 to {_MOST_PIECES}")
    check_free(out, force=force)
    batch = load_batch(file) if file else None
    if cut is None and batch is not None:
        composition = batch.meat.composition
    else:
        composition = find_cut("--cut", cut or "beef eye of round").composition
    thickness_m, width_m, length_m = _sides(
        _Typed(thickness, width, length, weight, pieces), composition, batch
    )
    start_K = to_si_within("--start", start, "temperature", "0 degC", "40 degC")
    freezer_K = to_si_within("--freezer", freezer, "temperature", "-39 degC", "-4 degC")
    salt_kg_kg = to_si_within("--salt", salt, "mass fraction", "0 g/kg", "50 g/kg")

    from dryingsim.kitchen.firming import FILMS, Piece
    from dryingsim.kitchen.firming import firm as work_out
    from dryingsim.show.kitchen.firming_text import firming_csv, firming_document

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
    screen = Screen(as_json=as_json, details=details)
    screen.show(firming_document(firming, units or (batch.display if batch else "metric"), pieces))
    if out is not None:
        screen.save(lambda: [write_whole(out, firming_csv(firming).encode())])


@dataclass(frozen=True, slots=True)
class _Typed:
    """What was typed of the size of the piece."""

    thickness: str | None
    width: str | None
    length: str | None
    weight: str | None
    pieces: int


def _sides(typed: _Typed, composition: "Composition", batch: "Batch | None") -> tuple[float, float, float]:
    """Return thickness, width and length of a piece [m]; what nobody knows is endless."""
    if typed.thickness is None and (typed.width or typed.length):
        raise InputError("--width and --length go with --thickness, the smallest side of the piece")
    if typed.thickness is None:
        if batch is None:
            raise InputError(
                'how large is the piece? Give --thickness, its smallest side, for example "60 mm", or a batch file'
            )
        return _by_weight(typed, composition, batch, batch.meat.length_m, batch.meat.width_m)
    smallest = to_si_within("--thickness", typed.thickness, "length", "5 mm", "300 mm")
    others = [float("inf"), float("inf")]
    for number, (option, text) in enumerate((("--width", typed.width), ("--length", typed.length))):
        if text is not None:
            others[number] = to_si_within(option, text, "length", "5 mm", "2 m")
            if others[number] < smallest:
                raise InputError(
                    f"{option} = '{text}' is less than --thickness = '{typed.thickness}'; that is the smallest side"
                )
    if typed.width is not None and typed.length is None and (typed.weight or batch):
        return _by_weight(typed, composition, batch, smallest, others[0])
    if typed.weight is not None:
        raise InputError(
            "--weight tells the length of a piece: it goes with --thickness and --width, without --length"
        )
    return smallest, others[0], others[1]


def _by_weight(
    typed: _Typed, composition: "Composition", batch: "Batch | None", first_m: float, second_m: float
) -> tuple[float, float, float]:
    """Return the sides of a piece of which two are known, with its share of the weight."""
    from dryingsim.kitchen.firming import sides_of

    if typed.weight is not None:
        kg = to_si_within("--weight", typed.weight, "mass", "50 g", "50 kg")
    else:
        assert batch is not None
        kg = batch.meat.weight_kg
    sides = sides_of(composition, kg / typed.pieces, first_m, second_m)
    if not 5e-3 <= sides[0] <= 0.3 or sides[2] > 2.0:
        raise InputError(
            f"a piece of {kg / typed.pieces:.3g} kg, {1e3 * first_m:.3g} by {1e3 * second_m:.3g} mm, is "
            f"{1e3 * sides[0]:.3g} by {1e3 * sides[1]:.3g} by {1e3 * sides[2]:.3g} mm: check weight and sides, or say --pieces"
        )
    return sides
