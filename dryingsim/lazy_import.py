"""Modules of a package that are imported when they are first named: the package itself then costs next to nothing."""

from collections.abc import Callable, Iterable
from importlib import import_module
from pkgutil import iter_modules
from types import ModuleType


def modules(package: str, path: Iterable[str]) -> tuple[Callable[[str], ModuleType], Callable[[], list[str]]]:
    """Return `__getattr__` and `__dir__` of a package whose modules are found at its `__path__`."""

    def names() -> list[str]:
        return sorted(one.name for one in iter_modules(list(path)))

    def named(name: str) -> ModuleType:
        if name.startswith("_") or name not in names():
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        return import_module(f"{package}.{name}")

    return named, names
