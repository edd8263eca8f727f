"""Where a number comes from, carried as data beside the number itself.

A constant is a plain number annotated with its evidence, so it costs nothing where it is used:

>>> BOILING_K: Annotated[float, Evidence("K", "published", "triple point and 1990 scale", (373.12, 373.15))] = 373.15

`constants_of` reads the evidence back from a module. A plain number is kept on purpose: a subclass of float makes every
operation with a small array about twice as slow.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from types import ModuleType
from typing import Annotated, Any, Literal, get_origin, get_type_hints

Kind = Literal[
    "exact",  # by definition, or arithmetic
    "published",  # read in the source named
    "measured",  # a single published measurement
    "fitted",  # here, on published data
    "derived",  # from published values, as the source says
    "assumed",
    "estimate",  # judgement, on what the source says; or nothing
    "common practice",  # no source
    "from memory",  # recalled, the source not at hand
    "numerical",  # a setting of the computation: no property of anything
]


@dataclass(frozen=True, slots=True)
class Evidence:
    """Unit, standing, source and range of a number.

    Attributes
    ----------
    unit : str
        In SI; "-" for none.
    kind : Kind
        How well it is known.
    source : str
        Who says so, or what the number is; long texts keep their line breaks.
    range : tuple of float, optional
        Over what published values or judgement say it may lie, in the same unit.
    """

    unit: str
    kind: Kind
    source: str
    range: tuple[float, float] | None = None

    @property
    def words(self) -> str:
        """Standing, source and range in one line.

        Examples
        --------
        >>> Evidence("m/s", "estimate", "a small fan", (0.5, 2.0)).words
        'estimate: a small fan (0.5 to 2)'
        """
        span = (
            f" ({self.range[0]:g} to {self.range[1]:g})"
            if self.range and self.range[0] < self.range[1]
            else ""
        )
        return f"{self.kind}: {' '.join(self.source.split())}{span}"


@dataclass(frozen=True, slots=True)
class Constant:
    """A number by name, with its evidence; `name` is its place in the module or the catalog.

    Attributes
    ----------
    value : Any
        As the code has it.
    """

    name: str
    value: Any
    evidence: Evidence


def constants_of(module: ModuleType) -> Iterator[Constant]:
    """Yield the constants of a module that carry their evidence, in its order.

    Examples
    --------
    >>> from dryingsim import constants
    >>> next(constant.evidence.unit for constant in constants_of(constants))
    'J/(mol K)'
    """
    for name, hint in get_type_hints(module, include_extras=True).items():
        if get_origin(hint) is Annotated:
            for evidence in hint.__metadata__:
                if isinstance(evidence, Evidence):
                    yield Constant(name, getattr(module, name), evidence)


def evidence_of(module: ModuleType, name: str) -> Evidence:
    """Return the evidence of one constant.

    Parameters
    ----------
    module : module
    name : str
        As the module assigns it.

    Examples
    --------
    >>> from dryingsim import constants
    >>> evidence_of(constants, "GRAVITY").kind
    'exact'
    """
    return next(constant.evidence for constant in constants_of(module) if constant.name == name)
