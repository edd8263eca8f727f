"""Laws of the physics that a batch is simulated with, where they are not those of meat: a user's own in their place."""

from collections.abc import Hashable
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, get_args

from dryingsim.batch.checks import check_range
from dryingsim.errors import InputError

if TYPE_CHECKING:  # numpy is loaded once a law is made
    from dryingsim.properties.diffusivity import DiffusivityLaw
    from dryingsim.properties.shrinkage import ShrinkageLaw
    from dryingsim.properties.sorption import SorptionLaw

OfFaces = float | tuple[float, float]  # the same for both faces, or for the lower and the upper one


@dataclass(frozen=True, slots=True)
class HeldSurface:
    """Faces held at a moisture from the first moment on, for teaching and against exact solutions.

    Water comes to the faces by diffusion alone and leaves them as it is: no film, no latent heat, no heat at all, so that
    slices keep the temperature they are laid on the trays with. A face on a sheet is sealed. Long edges take no part. It
    needs air as the stages state it, which then does nothing.

    Attributes
    ----------
    moisture_db : float or tuple of float
        [kg/kg], 0.0001 to 20; two numbers are of the lower and of the upper face.
    """

    moisture_db: OfFaces

    def __post_init__(self) -> None:
        _check_faces("HeldSurface, moisture_db", self.moisture_db, 1e-4, 20.0, "0.0001 to 20")


@dataclass(frozen=True, slots=True)
class IsothermalSurface:
    """Faces that give off vapour through the film of the air, but take no heat: drying at one temperature, for teaching.

    Slices keep the temperature they are laid on the trays with: give the meat that of its air. A face on a sheet is sealed.
    Long edges take no part. It needs air as the stages state it.
    """


Surface = HeldSurface | IsothermalSurface


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
        a_w(T, X); None: of meat with its salt and sugar. Its inverse follows from it; its heat, the dependence on
        temperature, is in no balance; salt and sugar then change nothing in it. How well meat's curve is known is taken for any.
    surface : HeldSurface, IsothermalSurface or None
        None: the faces exchange heat and vapour with the air.
    film_W_m2K : float, tuple of float, or None
        Film coefficient for heat at the faces in drying air, 0.1 to 1000 W/(m2 K), the film for vapour along with it; two
        numbers are of the lower and of the upper face. None: as speed and stillness of the air make it. Needs air as the
        stages state it.
    shrinkage : ShrinkageLaw or None
        Volume per dry solid at a moisture; None: the volumes of solid and water add. Heat is conducted by solid and water
        alone, whatever else takes up room.

    Air that follows a function of time is no law: `air_stages` makes stages of it, which every command reads.

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
    surface: Surface | None = None
    film_W_m2K: OfFaces | None = None
    shrinkage: "ShrinkageLaw | None" = None

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
        if self.surface is not None and not isinstance(self.surface, Surface):
            expected = "ds.HeldSurface(...) or ds.IsothermalSurface() is expected"
            raise InputError(f"surface: {expected}, not {type(self.surface).__name__}")
        if self.film_W_m2K is not None:
            _check_faces("Components, film_W_m2K", self.film_W_m2K, 0.1, 1000.0, "0.1 to 1000")
        if self.shrinkage is not None:
            expected = "ds.LinearShrinkage(...), or an object with volume(X)"
            _check_made("shrinkage", self.shrinkage, ("volume",), expected)


def check_diffusivity(law: Any) -> None:
    """Raise where an object lacks what is asked of a diffusivity."""
    from dryingsim.properties.diffusivity import Convention

    _check_made(
        "diffusivity", law, ("value",), "ds.Diffusivity(...), or an object with value(T, X) and convention"
    )
    convention = getattr(law, "convention", None)
    if convention not in get_args(Convention):
        raise InputError(f"diffusivity, convention = {convention!r}: 'dry_mass' or 'local' is expected")


def _check_faces(name: str, values: Any, low: float, high: float, limits: str) -> None:
    """Raise where a number, or one of those of two faces, is outside of its limits."""
    of_faces = values if isinstance(values, tuple) else (values,)
    if isinstance(values, tuple) and len(values) != 2:
        raise InputError(f"{name} = {values!r}: one number, or two for the lower and the upper face")
    for value in of_faces:
        check_range(name, value, value, low, high, limits)


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
