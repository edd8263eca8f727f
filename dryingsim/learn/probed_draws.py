"""The slice that holds a thermometer's probe, drawn many times: what is not known of it, and what its probe would show.

A draw is a row of standard normal numbers, one for each of `Unknowns.keys`. Slices of all draws dry in the air that was
logged, through the engine of many slices.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.drying_evidence import between_studies
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.air_history import AirHistory
from dryingsim.engine.ensemble import Numbers, Request, run_ensemble
from dryingsim.engine.segments import Segment
from dryingsim.engine.slices import Differences, different_slices
from dryingsim.evidence import Evidence
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.learn.logged_air import LoggedAir
from dryingsim.typing import Array

KEYS = (
    "diffusivity",
    "half_moisture",
    "film",
    "thickness",
    "marinade",
    "air",
    "humidity",
    "exposed",
    "reads",
)
_HEATED_NOTES = 61
_MOMENT_S = 1e-3
_NOTED = (
    "places_K",
    "places_activity",
    "series_moisture_db",
    "series_water_activity",
    "series_core_K",
    "series_face_K",
)
_SPEED: Annotated[
    float, Evidence("-", "estimate", "film coefficient by an air speed that is known to a third")
] = 0.15
_AIR_K: Annotated[
    float, Evidence("K", "estimate", "air thermometer, its place beside the slice, walls that are cooler")
] = 1.5
_PROBE_K: Annotated[float, Evidence("K", "estimate", "a probe that was checked, one standard deviation")] = (
    0.4
)
_EXPOSED: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "heat that a probe's stem brings along: it shows the meat plus so much of the difference to the air; the median",
    ),
] = 0.04
_EXPOSED_SIZE: Annotated[float, Evidence("-", "estimate", "its logarithm, one standard deviation")] = 0.8


@dataclass(frozen=True, slots=True, kw_only=True)
class Unknowns:
    """How far each of `KEYS` may be off: standard deviations of logarithms, of kelvins; of `humidity` as the air says.

    Attributes
    ----------
    size : ndarray, shape (p,)
    """

    size: Array

    @classmethod
    def of(cls, uncertainties: Mapping[str, Uncertainty]) -> "Unknowns":
        """Return those of a slice of a batch.

        Parameters
        ----------
        uncertainties : mapping of Uncertainty
            As `batch.uncertainties.read_uncertainties` gives them.
        """
        size = {key: uncertainty.deviation for key, uncertainty in uncertainties.items()}
        drying = ("diffusivity", "diffusivity_batches", "diffusivity_slices")
        sizes = {
            "diffusivity": float(np.linalg.norm([size[key] for key in drying])),
            "half_moisture": size["half_moisture"],
            "film": float(np.linalg.norm([size["film"], size["film_places"], _SPEED])),
            "thickness": float(np.hypot(size["thickness_between"], size["thickness_within"])),
            "marinade": size["marinade"],
            "air": _AIR_K,
            "humidity": 1.0,
            "exposed": _EXPOSED_SIZE,
            "reads": _PROBE_K,
        }
        return cls(size=np.array([sizes[key] for key in KEYS]))

    def values(self, z: Array) -> dict[str, Array]:
        """Return factors and offsets of draws, by key.

        Parameters
        ----------
        z : ndarray, shape (s, p)
        """
        off = dict(zip(KEYS, (z * self.size).T, strict=True))
        multiplied = ("diffusivity", "half_moisture", "film", "thickness", "marinade")
        factors = {key: np.exp(off[key]) for key in multiplied}
        factors["diffusivity"] *= factors["half_moisture"] ** between_studies().along_half_moisture
        return {**off, **factors, "exposed": _EXPOSED * np.exp(off["exposed"])}


@dataclass(frozen=True, slots=True, kw_only=True)
class Slice:
    """The slice that is drawn.

    Attributes
    ----------
    batch : Batch
    kind : int
        Its thickness class.
    air : LoggedAir
    start_K : float
        Its temperature when it went in [K].
    heated_s : tuple of float
        When the stages before drying end, where it is heated first [s].
    """

    batch: Batch
    kind: int
    air: LoggedAir
    start_K: float
    heated_s: tuple[float, ...] = ()

    @property
    def laid_s(self) -> float:
        """When it was laid on the tray, since it went in [s]."""
        return self.heated_s[-1] if self.heated_s else 0.0

    def before(self, count: int) -> tuple[Segment, ...]:
        """Return what comes before drying, for so many draws."""
        segments: list[Segment] = []
        start = 0.0
        for stage, end in enumerate(self.heated_s):
            if end > start:
                still = AirHistory.given([self.batch], stage).repeated(count)
                part = Segment(start, end, still, len(segments) - 1, False, dries=True, lethal=True)
                segments.append(part.of_stage(self.batch, stage))
            start = end
        return tuple(segments)


def dried(
    piece: Slice,
    values: Mapping[str, Array],
    times_s: Array,
    kind: Array | None = None,
    apart: tuple[Array, Array] | None = None,
) -> Numbers:
    """Dry slices of all draws in the logged air.

    Parameters
    ----------
    piece : Slice
    kind : ndarray of int, shape (s,), optional
        Thickness class of each; that of the piece if left out.
    apart : tuple of ndarray, shape (t, s), optional
        How much warmer [K] and moister [Pa] the air of each is than that of the piece, at the times of the logged air.
    values : mapping of ndarray, shape (s,)
        As `Unknowns.values` gives them.
    times_s : ndarray, shape (t,)
        When states are noted, since they were laid on the trays [s]; beyond the log its last air goes on.

    Returns
    -------
    dict of ndarray
        As of `engine.ensemble.work`, with `places_K` and `places_activity`; and where they are heated first, what was noted
        meanwhile as `heated_places_K`, at the times of `heated_times`.
    """
    count = values["film"].size
    differences = Differences(
        kind=np.full(count, piece.kind) if kind is None else kind,
        thickness=values["thickness"],
        diffusivity=values["diffusivity"],
        half_moisture=values["half_moisture"],
        film=values["film"],
        marinade=values["marinade"],
        water=np.zeros(count),
    )
    slices, _ = different_slices(piece.batch, differences, np.arange(count), NODES_OF_MANY)
    air = piece.air.columns(piece.batch, values["air"], values["humidity"], apart)
    laid, before, heated = piece.laid_s, piece.before(air.columns), heated_times(piece)
    end = laid + float(times_s[-1])
    segment = Segment(laid, end, air, len(before) - 1, False, dries=True, lethal=True)
    # what is noted at the very moment they are laid on the trays is of the stage before
    on_trays = laid + np.maximum(times_s, _MOMENT_S if before else 0.0)
    request = Request(
        temperature_K=piece.start_K,
        times_s=np.concatenate([heated, on_trays]),
        form=piece.batch.meat.form,
        places=True,
    )
    numbers = run_ensemble(slices, (*before, segment), request)
    return {
        **{
            key: values[..., heated.size :, :] if key in _NOTED else values for key, values in numbers.items()
        },
        "heated_places_K": numbers["places_K"][:, : heated.size],
    }


def heated_times(piece: Slice) -> Array:
    """Return when states are noted before drying, since the slices went in [s]; empty where they are not heated first."""
    if not piece.heated_s:
        return np.empty(0)
    return np.unique(np.append(np.linspace(0.0, piece.laid_s, _HEATED_NOTES), piece.heated_s))


def shown(piece: Slice, values: Mapping[str, Array], numbers: Numbers, times_s: Array) -> Array:
    """Return what the probes of all draws would show [K], shape (t, s).

    Parameters
    ----------
    piece : Slice
    values : mapping of ndarray, shape (s,)
    numbers : dict of ndarray
        As `dried` gives them.
    times_s : ndarray, shape (t,)
        [s]
    """
    meat = numbers["places_K"][1]
    logged: Array = np.interp(times_s, piece.air.time_s, piece.air.temperature_K)
    air = logged[:, None] + values["air"]
    return meat + values["exposed"] * (air - meat) + values["reads"]
