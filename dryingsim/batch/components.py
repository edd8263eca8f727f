"""Laws of the physics that a batch is simulated with, where they are not those of meat: a user's own in their place."""

from collections.abc import Hashable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, get_args

from dryingsim.batch.checks import check_range
from dryingsim.errors import InputError

if TYPE_CHECKING:  # numpy is loaded once a law is made
    from dryingsim.properties.diffusivity import DiffusivityLaw
    from dryingsim.properties.sorption import SorptionLaw


@dataclass(frozen=True, slots=True)
class HeldSurface:
    """Faces held at a moisture from the first moment on, for teaching and against exact solutions.

    Water comes to the faces by diffusion alone and leaves them as it is: no film, no latent heat, no heat at all, so that
    slices keep the temperature they are laid on the trays with. A face on a sheet is sealed. Long edges take no part. It
    needs air as the stages state it, which then does nothing.

    Attributes
    ----------
    moisture_db : float
        [kg/kg], 0.0001 to 20.
    """

    moisture_db: float

    def __post_init__(self) -> None:
        check_range(
            "HeldSurface, moisture_db", self.moisture_db, self.moisture_db, 1e-4, 20.0, "0.0001 to 20"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Components:
    """The laws that may be replaced, each by any object with the methods of its protocol.

    They go with the batch (`Batch.components`) through every run of it, to workers too: their classes must stand in a
    module, so that they can be pickled, and must be hashable, as frozen dataclasses are. `check_component` tries one out.

    Attributes
    ----------
    diffusivity : DiffusivityLaw or None
        D(T, X) of water; None: `LEAN_MEAT`. What is uncertain of the level of meat's is drawn for any; a half moisture
        only `Diffusivity` has.
    sorption : SorptionLaw or None
        a_w(T, X); None: of meat with its salt and sugar. Its inverse and its heat follow from it; salt and sugar then change
        nothing in it. How well meat's curve is known is taken for any.
    surface : HeldSurface or None
        None: the faces exchange heat and vapour with the air.
    film_W_m2K : float or None
        Film coefficient for heat at all faces in drying air, 0.1 to 1000 W/(m2 K), the film for vapour along with it; None:
        as speed and stillness of the air make it. Needs air as the stages state it.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from dryingsim import LEAN_MEAT, demo_batch, run
    >>> slow = Components(diffusivity=replace(LEAN_MEAT, reference_m2_s=2e-10))
    >>> batch = replace(demo_batch(), components=slow)
    >>> run(batch).batch.components == slow
    True
    """

    diffusivity: "DiffusivityLaw | None" = None
    sorption: "SorptionLaw | None" = None
    surface: HeldSurface | None = None
    film_W_m2K: float | None = None

    @property
    def replaced(self) -> dict[str, str]:
        """Those that are not the package's own, each as it is written."""
        own = {field.name: getattr(self, field.name) for field in fields(self)}
        return {name: repr(law) for name, law in own.items() if law is not None}

    def __post_init__(self) -> None:
        if self.diffusivity is not None:
            check_diffusivity(self.diffusivity)
        if self.sorption is not None:
            expected = "an object with water_activity(T, X)"
            _check_made("sorption", self.sorption, ("water_activity",), expected)
        if self.surface is not None and not isinstance(self.surface, HeldSurface):
            raise InputError(f"surface: ds.HeldSurface(...) is expected, not {type(self.surface).__name__}")
        if self.film_W_m2K is not None:
            check_range(
                "Components, film_W_m2K", self.film_W_m2K, self.film_W_m2K, 0.1, 1000.0, "0.1 to 1000"
            )


def check_diffusivity(law: Any) -> None:
    """Raise where an object lacks what is asked of a diffusivity."""
    from dryingsim.properties.diffusivity import Convention

    _check_made(
        "diffusivity", law, ("value",), "ds.Diffusivity(...), or an object with value(T, X) and convention"
    )
    convention = getattr(law, "convention", None)
    if convention not in get_args(Convention):
        raise InputError(f"diffusivity, convention = {convention!r}: 'dry_mass' or 'local' is expected")


def _check_made(name: str, law: Any, methods: tuple[str, ...], expected: str) -> None:
    """Raise where an object lacks methods, is a class, or is no key."""
    shown = law.__name__ if isinstance(law, type) else type(law).__name__
    if isinstance(law, type) or not all(callable(getattr(law, method, None)) for method in methods):
        raise InputError(
            f"{name}: {expected} is expected, not {'the class ' if isinstance(law, type) else ''}{shown}"
        )
    if not isinstance(law, Hashable):
        raise InputError(
            f"{name}: {shown} cannot be hashed; make it a frozen dataclass with numbers in it, no arrays"
        )


STANDARD = Components()
