"""`dryingsim load`: how many slices a weight of meat makes, and on how many trays they lie."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, Units
from dryingsim.cli.shared import Screen
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.batch.schema import Batch
    from dryingsim.kitchen.loading import SlicedMeat, Tray

_SIZES = {  # what each option is of, and the range outside of which it is surely a slip of the pen
    "--weight": ("weight_kg", "mass", "1 g", "500 kg"),
    "--thickness": ("thickness_m", "length", "0.5 mm", "30 mm"),
    "--length": ("length_m", "length", "5 mm", "1 m"),
    "--width": ("width_m", "length", "5 mm", "1 m"),
}


def load(
    file: Annotated[
        Path | None,
        typer.Argument(metavar="BATCH.toml", help="Tells all of this; or give the first four options."),
    ] = None,
    weight: Annotated[
        str | None, typer.Option(metavar="WEIGHT", help="Of the raw meat; else the batch's.")
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of a slice; else the batch's, on average.")
    ] = None,
    length: Annotated[str | None, typer.Option(metavar="LENGTH", help="Of a slice; likewise.")] = None,
    width: Annotated[str | None, typer.Option(metavar="LENGTH", help="Of a slice; likewise.")] = None,
    appliance: Annotated[
        str | None,
        typer.Option(
            metavar="NAME|FILE.toml", help="Whose trays: of 'list appliances', or a file of your own."
        ),
    ] = None,
    tray_length: Annotated[
        str | None, typer.Option(metavar="LENGTH", help="Of a tray, in place of an appliance.")
    ] = None,
    tray_width: Annotated[str | None, typer.Option(metavar="LENGTH", help="Likewise.")] = None,
    gap: Annotated[
        str, typer.Option(metavar="LENGTH", help="Between slices (common practice, no source).")
    ] = "5 mm",
    cut: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="As 'dryingsim list cuts' shows it; else the batch's, or beef eye of round."
        ),
    ] = None,
    units: Units = None,
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Load trays: how many slices a weight makes, the area they cover, the trays they need, the drip."""
    from dryingsim.batch.reading.batch_file import load_batch

    typed = {"--weight": weight, "--thickness": thickness, "--length": length, "--width": width}
    batch = load_batch(file) if file else None
    slices = _slices(typed, cut, batch)
    gap_m = to_si_within("--gap", gap, "length", "0 mm", "100 mm")
    tray, name = _tray(appliance, tray_length, tray_width, batch)

    from dryingsim.kitchen.loading import lay_out
    from dryingsim.show.kitchen.loading_text import loading_document

    laid = batch and _with(batch, slices, one_thickness=thickness is not None)
    loading = lay_out(slices, tray, gap_m, laid)
    system = units or (batch.display if batch else "metric")
    Screen(as_json=as_json, details=details).show(loading_document(loading, system, name))


def _slices(typed: dict[str, str | None], cut: str | None, batch: "Batch | None") -> "SlicedMeat":
    """Return the slices as the options tell them, and the batch what they leave out."""
    from dryingsim.batch.catalog.cuts import find_cut
    from dryingsim.kitchen.loading import SlicedMeat

    missing = [option for option, text in typed.items() if text is None]
    if missing and batch is None:
        raise InputError(
            f"{', '.join(missing)} {'is' if len(missing) == 1 else 'are'} missing; a batch file tells that too: "
            "'dryingsim load mine.toml'"
        )
    sizes = {}
    if batch is not None:
        meat = batch.meat
        sizes = {
            "weight_kg": meat.weight_kg,
            "thickness_m": meat.mean_thickness_m,
            "length_m": meat.length_m,
            "width_m": meat.width_m,
        }
    for option, text in typed.items():
        if text is not None:
            size, *limits = _SIZES[option]
            sizes[size] = to_si_within(option, text, *limits)
    if cut is None and batch is not None:
        composition = batch.meat.composition
    else:
        composition = find_cut("--cut", cut or "beef eye of round").composition
    return SlicedMeat(composition=composition, **sizes)


def _with(batch: "Batch", slices: "SlicedMeat", *, one_thickness: bool) -> "Batch":
    """Return the batch with its slices as the options tell them."""
    meat = replace(
        batch.meat,
        composition=slices.composition,
        weight_kg=slices.weight_kg,
        length_m=slices.length_m,
        width_m=slices.width_m,
    )
    if one_thickness:
        meat = replace(meat, classes=(replace(meat.classes[0], share=1.0, thickness_m=slices.thickness_m),))
    return replace(batch, meat=meat)


def _tray(
    appliance: str | None, length: str | None, width: str | None, batch: "Batch | None"
) -> "tuple[Tray | None, str | None]":
    """Return the tray, and the appliance's name if there is one: what was typed, or else the batch's."""
    if appliance is not None and (length or width):
        raise InputError("--appliance and --tray-length, --tray-width both tell the tray: give one of them")
    if (length is None) != (width is None):
        missing = "--tray-width" if width is None else "--tray-length"
        raise InputError(f"{missing} is missing: a tray has a length and a width")
    from dryingsim.kitchen.loading import Tray, tray_of

    if length is not None and width is not None:
        return Tray(
            length_m=to_si_within("--tray-length", length, "length", "50 mm", "2 m"),
            width_m=to_si_within("--tray-width", width, "length", "50 mm", "2 m"),
        ), None
    if appliance is None and batch is not None and batch.appliance is not None:
        return tray_of(batch), batch.appliance.name
    if appliance is None:
        return None, None
    from dryingsim.batch.reading.appliance_file import named_appliance

    known = named_appliance("--appliance", appliance)
    return Tray(
        length_m=known.si("trays.length"), width_m=known.si("trays.width"), slots=known.si("trays.slots")
    ), known.name
