"""Laying out: how many slices a weight of meat makes, what area they cover, and on how many trays they lie."""

import math
from dataclasses import dataclass
from typing import Annotated

from dryingsim.batch.schema import Batch, Composition
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.model.build import build_slabs, slice_area
from dryingsim.model.laying import face_area, tray_area
from dryingsim.model.surroundings import trays_needed
from dryingsim.properties.meat import mixture

FRIDGE_K: Annotated[
    float, Evidence("K", "estimate", "a household refrigerator, 4 degC", (275.15, 281.15))
] = ZERO_CELSIUS + 4.0
_NODES = 3  # across a slice: its area does not ask for more
DRIP_RANGE = (0.01, 0.04)
DRIP: Annotated[
    float,
    Evidence(
        "-", "estimate", "share of the weight that drips off within the first hour on the tray", DRIP_RANGE
    ),
] = 0.02


@dataclass(frozen=True, slots=True, kw_only=True)
class SlicedMeat:
    """A weight of meat as slices of one size.

    Attributes
    ----------
    composition : Composition
        Of the raw meat.
    weight_kg : float
        [kg].
    thickness_m : float
        [m].
    length_m : float
        [m].
    width_m : float
        [m].
    """

    composition: Composition
    weight_kg: float
    thickness_m: float
    length_m: float
    width_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Tray:
    """The usable area of a tray; `slots` is how many there are, None where that is not known.

    Attributes
    ----------
    length_m : float
        [m].
    width_m : float
        [m].
    counted : bool
        The batch says on how many trays it lies: then slices may lie closer than PACKING.
    """

    length_m: float
    width_m: float
    slots: int | None = None
    counted: bool = False

    @property
    def area_m2(self) -> float:
        """Usable [m2]."""
        return self.length_m * self.width_m


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """The slices on the trays, and in rows: side by side with gaps, all turned the same way.

    Attributes
    ----------
    per_tray : int
        Slices in rows.
    across : int
        Slices in a row.
    trays : int
        At most PACKING of their area covered, as a run counts them.
    in_rows : int
        Trays, laid in rows.
    loads : int or None
        Of the appliance, one after another.
    cover : float
        Share of a tray's area under meat, where it is full of rows.
    """

    per_tray: int
    rows: int
    across: int
    turned: bool  # the slices' length lies across the tray
    trays: int
    in_rows: int
    loads: int | None
    cover: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """The answer.

    Attributes
    ----------
    slices : SlicedMeat
        As asked about.
    density_kg_m3 : float
        Of the raw meat [kg/m3].
    area_m2 : float
        Of one face of all slices.
    count : int
        Of slices.
    slice_kg : float
        Weight of one [kg].
    drip_kg : float
        Of all, until they are laid on the trays [kg].
    drip_range_kg : tuple[float, float]
        [kg].
    layout : Layout or None
        On the trays; None where no tray was named.
    """

    slices: SlicedMeat
    density_kg_m3: float
    area_m2: float
    count: int
    slice_kg: float
    drip_kg: float
    drip_range_kg: tuple[float, float]
    layout: Layout | None


def lay_out(
    slices: SlicedMeat, tray: Tray | None = None, gap_m: float = 0.005, batch: Batch | None = None
) -> Loading:
    """Count the slices of a weight of meat and lay them on trays.

    Parameters
    ----------
    slices : SlicedMeat
    tray : Tray, optional
        Nothing is laid out without one.
    gap_m : float
        Between slices, so that air passes [m]; 5 mm is common practice, no source.
    batch : Batch, optional
        That of the slices: their thicknesses, what they took up and how they lie then count, as in a run of it.

    Returns
    -------
    Loading

    Examples
    --------
    700 g in slices of 5 mm, 120 by 50 mm, on trays of 300 by 300 mm:

    >>> from dryingsim.batch.catalog.cuts import find_cut
    >>> beef = find_cut("cut", "beef eye of round").composition
    >>> meat = SlicedMeat(composition=beef, weight_kg=0.7, thickness_m=0.005, length_m=0.12, width_m=0.05)
    >>> loading = lay_out(meat, Tray(length_m=0.3, width_m=0.3))
    >>> loading.count, loading.layout.per_tray, loading.layout.trays, loading.layout.in_rows
    (22, 10, 2, 3)
    """
    density = density_of(slices.composition)
    area = covered = slices.weight_kg / (density * slices.thickness_m)
    if batch is not None:
        area = float(face_area(batch, slice_area(batch, build_slabs(batch, _NODES))).sum())
        covered = covered_area(batch)
    slice_m2 = slices.length_m * slices.width_m
    count = max(round(area / slice_m2), 1)
    return Loading(
        slices=slices,
        density_kg_m3=density,
        area_m2=area,
        count=count,
        slice_kg=slices.weight_kg * slice_m2 / area,
        drip_kg=DRIP * slices.weight_kg,
        drip_range_kg=(DRIP_RANGE[0] * slices.weight_kg, DRIP_RANGE[1] * slices.weight_kg),
        layout=None if tray is None else _layout(slices, tray, gap_m, count, covered),
    )


def covered_area(batch: Batch) -> float:
    """Return the area of tray that the slices of a batch cover [m2].

    Parameters
    ----------
    batch : Batch
    """
    return float(tray_area(batch, slice_area(batch, build_slabs(batch, _NODES))).sum())


def tray_of(batch: Batch) -> Tray:
    """Return a tray of a batch's appliance, and how many of them it may take.

    Parameters
    ----------
    batch : Batch
        With an appliance.
    """
    assert batch.appliance is not None
    trays, counted = batch.appliance.trays, batch.trays
    slots = trays.slots if counted is None else counted
    return Tray(length_m=trays.length_m, width_m=trays.width_m, slots=slots, counted=counted is not None)


def loads_needed(area_m2: float, tray: Tray) -> int:
    """Return in how many loads, one after the other, slices are dried; one where it is not known how many trays there are.

    Parameters
    ----------
    area_m2 : float
        Of trays that all slices cover [m2].
    tray : Tray
    """
    if tray.slots is None or (tray.counted and area_m2 <= tray.slots * tray.area_m2):
        return 1
    return math.ceil(trays_needed(area_m2, tray.area_m2) / tray.slots)


def density_of(raw: Composition) -> float:
    """Return the density of raw meat in the refrigerator [kg/m3].

    Parameters
    ----------
    raw : Composition
    """
    parts = {
        "water": raw.water,
        "protein": raw.protein,
        "fat": raw.fat,
        "carbohydrate": raw.carbohydrate,
        "ash": raw.ash,
    }
    return float(mixture(parts, FRIDGE_K).density)


def _layout(slices: SlicedMeat, tray: Tray, gap_m: float, count: int, area: float) -> Layout:
    fits = {
        turned: (_fit(tray.length_m, along, gap_m), _fit(tray.width_m, across, gap_m))
        for turned, along, across in (
            (False, slices.length_m, slices.width_m),
            (True, slices.width_m, slices.length_m),
        )
    }
    turned = math.prod(fits[True]) > math.prod(fits[False])
    rows, across = fits[turned]
    per_tray = rows * across
    if per_tray == 0:
        raise InputError(
            f"a slice of {1e3 * slices.length_m:.4g} by {1e3 * slices.width_m:.4g} mm does not fit on a tray of "
            f"{1e3 * tray.length_m:.4g} by {1e3 * tray.width_m:.4g} mm"
        )
    return Layout(
        per_tray=per_tray,
        rows=rows,
        across=across,
        turned=turned,
        trays=trays_needed(area, tray.area_m2),
        in_rows=math.ceil(count / per_tray),
        loads=None if tray.slots is None else loads_needed(area, tray),
        cover=per_tray * slices.length_m * slices.width_m / tray.area_m2,
    )


def _fit(room_m: float, side_m: float, gap_m: float) -> int:
    """How many sides with gaps between them go into a length."""
    return int((room_m + gap_m) / (side_m + gap_m) + 1e-9)
