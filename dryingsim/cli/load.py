"""`dryingsim load`: how many slices a weight of meat makes, and on how many trays they lie."""

from typing import TYPE_CHECKING, Annotated

import typer

from dryingsim.batch.units import to_si_within
from dryingsim.cli.options import AsJson, Details, UnitsWithoutFile
from dryingsim.cli.shared import Screen
from dryingsim.errors import InputError

if TYPE_CHECKING:
    from dryingsim.kitchen.loading import Tray


def load(
    weight: Annotated[str, typer.Option(metavar="WEIGHT", help="Of the raw meat.")],
    thickness: Annotated[str, typer.Option(metavar="LENGTH", help="Of a slice.")],
    length: Annotated[str, typer.Option(metavar="LENGTH", help="Of a slice.")],
    width: Annotated[str, typer.Option(metavar="LENGTH", help="Of a slice.")],
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
        str, typer.Option(metavar="NAME", help="As 'dryingsim list cuts' shows it.")
    ] = "beef eye of round",
    units: UnitsWithoutFile = "metric",
    details: Details = False,
    as_json: AsJson = False,
) -> None:
    """Load trays: how many slices a weight makes, the area they cover, the trays they need, the drip."""
    from dryingsim.batch.catalog.cuts import find_cut

    composition = find_cut("--cut", cut).composition
    sides = {
        "weight_kg": to_si_within("--weight", weight, "mass", "1 g", "500 kg"),
        "thickness_m": to_si_within("--thickness", thickness, "length", "0.5 mm", "30 mm"),
        "length_m": to_si_within("--length", length, "length", "5 mm", "1 m"),
        "width_m": to_si_within("--width", width, "length", "5 mm", "1 m"),
    }
    gap_m = to_si_within("--gap", gap, "length", "0 mm", "100 mm")
    tray, name = _tray(appliance, tray_length, tray_width)

    from dryingsim.kitchen.loading import SlicedMeat, lay_out
    from dryingsim.show.kitchen.loading_text import loading_document

    loading = lay_out(SlicedMeat(composition=composition, **sides), tray, gap_m)
    Screen(as_json=as_json, details=details).show(loading_document(loading, units, name))


def _tray(appliance: str | None, length: str | None, width: str | None) -> "tuple[Tray | None, str | None]":
    """Return the tray, and the appliance's name if there is one."""
    if appliance is not None and (length or width):
        raise InputError("--appliance and --tray-length, --tray-width both tell the tray: give one of them")
    if (length is None) != (width is None):
        missing = "--tray-width" if width is None else "--tray-length"
        raise InputError(f"{missing} is missing: a tray has a length and a width")
    from dryingsim.kitchen.loading import Tray

    if length is not None and width is not None:
        return Tray(
            length_m=to_si_within("--tray-length", length, "length", "50 mm", "2 m"),
            width_m=to_si_within("--tray-width", width, "length", "50 mm", "2 m"),
        ), None
    if appliance is None:
        return None, None
    from dryingsim.batch.reading.appliance_file import named_appliance

    known = named_appliance("--appliance", appliance)
    return Tray(
        length_m=known.si("trays.length"), width_m=known.si("trays.width"), slots=known.si("trays.slots")
    ), known.name
