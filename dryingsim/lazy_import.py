"""What is imported when it is first used: modules of a package, and methods whose work is done further up.

The package itself then costs next to nothing, and a record can be drawn by a method of its own without knowing the
modules that draw.
"""

from collections.abc import Callable, Iterable, Mapping
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType
from typing import Any

_ATTACHED: dict[str, str] = {}


def attach(homes: Mapping[str, str]) -> None:
    """Say where the work of methods is done: {"Class.method": "module:function"}; the function gets the instance first."""
    _ATTACHED.update(homes)


def attached() -> list[str]:
    """Return the names of the methods."""
    return sorted(_ATTACHED)


def from_above(method: str) -> Callable[..., Any]:
    """Return the function attached to a method, named "Class.method"."""
    module, _, function = _ATTACHED[method].partition(":")
    work: Callable[..., Any] = getattr(import_module(module), function)
    return work


def modules(package: str, path: Iterable[str]) -> tuple[Callable[[str], ModuleType], Callable[[], list[str]]]:
    """Return `__getattr__` and `__dir__` of a package whose modules are found at its `__path__`."""

    def names() -> list[str]:
        return sorted(module.name for module in iter_modules(list(path)))

    def named(name: str) -> ModuleType:
        if name.startswith("_") or name not in names():
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return import_module(f"{package}.{name}")

    return named, names
