"""What is not known of a batch: how much each input may be off, by default and as a batch file says.

Some uncertainties are the same for the whole batch (how fast this meat lets water pass, how far the thermostat is off);
others differ from slice to slice (thickness, place on the tray). How fast meat dries from kitchen to kitchen and from batch
to batch is what all published drying says (`batch.catalog.drying_evidence`).
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, cast, get_args

import numpy as np

from dryingsim.batch.catalog.drying_evidence import ActivityError, activity_error, between_studies
from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.distributions import (
    Correlation,
    checked_correlations,
    frozen,
    read_parameters,
)
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainty import Shape, Uncertainty
from dryingsim.batch.units import expected, to_si
from dryingsim.errors import InputError
from dryingsim.properties.diffusivity import Diffusivity

Level = Literal["batch", "slice"]


@dataclass(frozen=True, slots=True)
class Input:
    """An input that is uncertain by default.

    Attributes
    ----------
    words : str
        What a person reads.
    level : str
        "batch": the same for all slices of a batch; "slice".
    dimension : str
        Of the size as typed, see `dryingsim.batch.units`.
    factor : bool
        Whether the uncertainty multiplies the input.
    most : float
        Largest size accepted.
    default : Uncertainty
    source : str
        Where the default comes from.
    """

    words: str
    level: Level
    dimension: str
    factor: bool
    most: float
    default: Uncertainty
    source: str

    @property
    def shapes(self) -> tuple[str, ...]:
        """Shapes that its uncertainty may have: what is added has no logarithm."""
        return tuple(shape for shape in get_args(Shape) if self.factor or shape in ("normal", "uniform"))


_EVENLY = (np.arange(200) + 0.5) / 200  # over what is drawn
_MOST_CUT = (
    0.2  # share of factors cut off: that of the half moisture, which laboratories know least, is a tenth
)
FACTOR_ENDS = (0.2, 5.0)  # a factor drawn is cut off here: beyond, it is no longer the same batch
# The defaults. Where nothing published was found they are estimates, with the range thought likely.
INPUTS: dict[str, Input] = {
    "diffusivity": Input(
        "how fast meat lets water pass, from kitchen to kitchen",
        "batch",
        "fraction",
        True,
        1.0,
        Uncertainty("student", round(between_studies().kitchens, 2)),
        "from kitchen to kitchen: of the diffusivity, so that with the batches nine in ten times of a new laboratory lie "
        f"within the factor {between_studies().factor_new_batch:g} of all published drying (validation/fits/drying; fitted); "
        f"Student's t with {between_studies().degrees_of_freedom:.2g} degrees of freedom",
    ),
    "diffusivity_batches": Input(
        "how fast meat lets water pass, from batch to batch",
        "batch",
        "fraction",
        True,
        1.0,
        Uncertainty("lognormal", round(between_studies().batches, 2)),
        "batches of one laboratory, all published drying (validation/fits/drying; fitted)",
    ),
    "half_moisture": Input(
        "how early drying slows, from kitchen to kitchen",
        "batch",
        "fraction",
        True,
        2.0,
        Uncertainty("lognormal", round(between_studies().half_moisture, 2)),
        "of the half moisture in the law of the diffusivity; the diffusivity goes along with its power "
        f"{between_studies().along_half_moisture:.2g}, by the covariance of the two in all published drying "
        "(validation/fits/drying; fitted)",
    ),
    "film": Input(
        "film coefficient, whole appliance",
        "batch",
        "fraction",
        True,
        0.5,
        Uncertainty("lognormal", 0.125),
        "correlations hold within 25 % (Incropera, ch. 7; from memory), taken as two standard deviations",
    ),
    "setpoint": Input(
        "air temperature against its setting",
        "batch",
        "temperature difference",
        False,
        20.0,
        Uncertainty("normal", 3.0),
        "estimate, 1-5 K in the mean; household ovens swing by 8-14 K around it (repair pages)",
    ),
    "room_humidity": Input(
        "relative humidity of the room",
        "batch",
        "fraction",
        False,
        0.3,
        Uncertainty("normal", 0.08),
        "estimate, 5-12 points: a room over some days, and a cheap hygrometer",
    ),
    "air_exchange": Input(
        "air exchange with the room",
        "batch",
        "fraction",
        True,
        1.0,
        Uncertainty("lognormal", 0.3),
        "estimate, 20-50 %: leakage and vents of home appliances are not published",
    ),
    "thickness_between": Input(
        "thickness, from slice to slice",
        "slice",
        "fraction",
        True,
        0.4,
        Uncertainty("lognormal", 0.10),
        "estimate, 5-20 %: hand-cut slices; a machine cuts to some per cent",
    ),
    "thickness_within": Input(
        "thickness, from place to place on a slice",
        "slice",
        "fraction",
        True,
        0.4,
        Uncertainty("lognormal", 0.05),
        "estimate, 3-10 %",
    ),
    "diffusivity_slices": Input(
        "diffusivity, from slice to slice",
        "slice",
        "fraction",
        True,
        1.0,
        Uncertainty("lognormal", between_studies().slices),
        "estimate, 5-20 %: direction of the fibres, fat between them",
    ),
    "film_places": Input(
        "film coefficient, from place to place",
        "slice",
        "fraction",
        True,
        0.5,
        Uncertainty("lognormal", 0.10),
        "estimate, 5-20 %: air over a tray is not even",
    ),
    "moisture": Input(
        "water in the raw meat",
        "slice",
        "fraction",
        False,
        0.05,
        Uncertainty("normal", 0.008),
        "standard deviation over 13 lean cuts of the round, the knuckle and the tip (USDA SR28; derived)",
    ),
    "marinade": Input(
        "salt and sugar taken up",
        "slice",
        "fraction",
        True,
        1.0,
        Uncertainty("lognormal", 0.15),
        "estimate, 10-30 %: thin slices take up more, and overlap in the bag",
    ),
}
LEVELS: dict[str, str] = {key: kind.level for key, kind in INPUTS.items()}
# of all that may differ between slices, the inputs and what comes of them
WORDS = {"thickness": "how thick the slices are", "tray": "tray", "lies": "how it lies"} | {
    key: kind.words for key, kind in INPUTS.items()
}


def default_uncertainties() -> dict[str, Uncertainty]:
    """Return the uncertainties of all inputs by default."""
    return {key: kind.default for key, kind in INPUTS.items()}


def uncertainties_of(batch: Batch) -> dict[str, Uncertainty]:
    """Return the uncertainties of all inputs: as the batch states them, else as its logs do, else the defaults.

    Parameters
    ----------
    batch : Batch
    """
    uncertainties = default_uncertainties()
    for key, correction in (batch.learned.corrections if batch.learned else {}).items():
        shape: Shape = (
            "lognormal" if INPUTS[key].factor else "normal"
        )  # a fit is normal, and of the next batch
        uncertainties[key] = Uncertainty(shape, correction.uncertainty)
        if key == "diffusivity":
            uncertainties["diffusivity_batches"] = Uncertainty("lognormal", 0.0)
    uncertainties |= checked_uncertainties("Batch, uncertainties", batch.uncertainties)
    law = batch.components.diffusivity
    if law is not None and not isinstance(law, Diffusivity):
        uncertainties["half_moisture"] = Uncertainty("lognormal", 0.0)  # other laws have none
    return uncertainties


def activity_error_of(batch: Batch) -> ActivityError:
    """Return how well the water activity of a batch is known: minced meat, and a marinade that is a guess, less well.

    Parameters
    ----------
    batch : Batch
    """
    if batch.meat.form == "minced":
        return activity_error("formed")
    return activity_error("known" if batch.marinade.known else "no_recipe")


def checked_uncertainties(place: str, stated: Mapping[str, Any]) -> dict[str, Uncertainty]:
    """Return uncertainties if each is one, of an input that there is, in a shape that it may have.

    Parameters
    ----------
    place : str
        What messages call them.
    stated : mapping of Uncertainty
        By the keys of `INPUTS`.
    """
    check_keys(place, stated, INPUTS)
    for key, uncertainty in stated.items():
        if not isinstance(uncertainty, Uncertainty):
            raise InputError(f"{place}, {key}: an Uncertainty is expected, not {uncertainty!r}")
        if not uncertainty.parameters:
            check_choice(f"{place}, {key}, shape", uncertainty.shape, INPUTS[key].shapes)
        if INPUTS[key].factor:
            _check_ends(f"{place}, {key}", uncertainty)
    return dict(stated)


def _check_ends(where: str, uncertainty: Uncertainty) -> None:
    """Refuse an uncertainty most of which would be cut off."""
    factors = uncertainty.drawn(_EVENLY, factor=True)
    cut = float(np.mean((factors < FACTOR_ENDS[0]) | (factors > FACTOR_ENDS[1])))
    if cut > _MOST_CUT:
        low, high = FACTOR_ENDS
        raise InputError(
            f"{where}: factors are cut off at {low:g} and {high:g}, and that would cut {100.0 * cut:.0f} % of them; a share of "
            "the value is expected as its size, such as 0.1 for 10 %"
        )


def read_uncertainties(document: Mapping[str, Any], name: str) -> dict[str, Uncertainty]:
    """Read what the table [spread] of a batch file states.

    Parameters
    ----------
    document : mapping
        The batch file as `tomllib` reads it.
    name : str
        What messages call it.

    Returns
    -------
    dict of Uncertainty
        By those keys of `INPUTS` that are typed: as one text, the size ("10 %", "3 K"; "0 %": no uncertainty), or as a
        table of a shape and a size: { uniform = "20 %" }, or of a distribution of `scipy.stats` and its parameters:
        { distribution = "triang", c = 0.5, loc = "-20 %", scale = "40 %" }.

    Examples
    --------
    >>> read_uncertainties({"spread": {"setpoint": {"uniform": "9 degF"}}}, "batch.toml")
    {'setpoint': Uncertainty(shape='uniform', size=5.0, parameters=())}
    """
    table, place = document.get("spread", {}), f"{name}: [spread]"
    if not isinstance(table, dict):
        raise InputError(f"{place} = {show(table)}: a table of keys is expected ({', '.join(INPUTS)})")
    check_keys(place, table, (*INPUTS, "correlations"))
    return {
        key: _read(f"{place}, {key}", typed, INPUTS[key]) for key, typed in table.items() if key in INPUTS
    }


def read_correlations(document: Mapping[str, Any], name: str) -> tuple[Correlation, ...]:
    """Read `correlations` of the table [spread] of a batch file: rank correlations of two inputs each.

    Parameters
    ----------
    document : mapping
        The batch file as `tomllib` reads it.
    name : str
        What messages call it.

    Examples
    --------
    >>> read_correlations({"spread": {"correlations": [["film", "setpoint", 0.5]]}}, "batch.toml")
    (('film', 'setpoint', 0.5),)
    """
    stated = document.get("spread", {}).get("correlations", [])
    return checked_correlations(f"{name}: [spread], correlations", stated, LEVELS)


def _read(where: str, typed: Any, kind: Input) -> Uncertainty:
    shape, size = kind.default.shape, typed
    if isinstance(typed, dict) and "distribution" in typed:
        return _read_distribution(where, typed, kind)
    if isinstance(typed, dict):
        if len(typed) != 1:
            raise InputError(
                f'{where} = {show(typed)}: one shape is expected, for example {{ uniform = "20 %" }}'
            )
        word, size = next(iter(typed.items()))
        shape = cast(Shape, check_choice(f"{where}, the shape", word, kind.shapes))
    if not isinstance(size, str):
        raise InputError(f"{where} = {show(typed)}: {expected(kind.dimension)}, or a shape and a size")
    value = to_si(where, size, kind.dimension)
    limit = f"0 to {100 * kind.most:g} %" if kind.dimension == "fraction" else f"0 to {kind.most:g} K"
    return Uncertainty(shape, check_range(where, size, value, 0.0, kind.most, limit))


def _read_distribution(where: str, typed: Mapping[str, Any], kind: Input) -> Uncertainty:
    """Read a distribution of scipy: `loc` and `scale` with the unit of the input, other parameters plain numbers."""
    parameters = read_parameters(where, typed, kind.dimension)
    try:
        stated = Uncertainty(typed["distribution"], parameters=parameters)
    except InputError as error:
        raise InputError(f"{where}, {error}") from None
    centre = abs(float(frozen(stated.shape, parameters).mean()))
    if max(centre, stated.size) > kind.most:
        unit = f"{100 * kind.most:g} %" if kind.dimension == "fraction" else f"{kind.most:g} K"
        raise InputError(f"{where}: its mean and standard deviation are expected within {unit} of 0")
    return stated
