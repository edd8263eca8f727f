"""The API reference: `python -m pdoc` finds every part of the package and understands its docstrings."""

import importlib
import pkgutil
import re
import warnings
from pathlib import Path

import pytest

import dryingsim

pdoc = pytest.importorskip("pdoc", reason="pip install -e '.[docs]'")
INTERNAL = ("dryingsim.cli", "dryingsim.__main__")  # a command's reference is its --help
MODULES = [
    module.name
    for module in pkgutil.walk_packages(dryingsim.__path__, "dryingsim.")
    if not module.name.startswith(INTERNAL)
]


def documented(name):
    """The module as the reference sees it; a type it cannot look up is printed as text, with a warning."""
    return pdoc.doc.Module(importlib.import_module(name))


def own_members(place):
    """Yield the public members of a module or a class that are its own."""
    for member in place.own_members:
        if member.name.startswith("_") or member.kind not in ("function", "class"):
            continue
        yield member
        if member.kind == "class":
            yield from own_members(member)


@pytest.mark.parametrize("name", MODULES)
def test_docstrings_are_understood(name):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        module = documented(name)
        members = list(own_members(module))
    for docstring in (module.docstring, *(member.docstring for member in members)):
        page = pdoc.docstrings.convert(docstring, "numpy", None)
        assert ".. math::" not in page  # a directive that was not understood
        assert "\n------" not in page  # the rule under a section's name


@pytest.mark.parametrize("name", ["dryingsim", "dryingsim.model.faces", "dryingsim.properties.water"])
def test_pages_are_written(name):
    pdoc.render.configure(docformat="numpy", math=True, show_source=False, search=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        page = pdoc.render.html_module(documented(name), all_modules={})
    assert name in page
    if name == "dryingsim":
        for public in dryingsim.__all__:
            assert f'id="{public}"' in page, public
    if name == "dryingsim.model.faces":
        assert "\\ln\\frac{1 - y_{air}}{1 - y_s}" in page


def test_the_command_of_the_reference_names_every_part():
    text = (Path(dryingsim.__file__).parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")
    (named,) = re.findall(r"python -m pdoc dryingsim dryingsim\.\{([\w,]+)\}", text)
    parts = {name.split(".")[1] for name in MODULES}
    assert set(named.split(",")) == {part for part in parts if not part.startswith("_")}
