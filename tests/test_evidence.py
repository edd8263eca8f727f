"""Constants are plain numbers that carry unit, standing, source and range."""

import ast
import pickle
from importlib import import_module
from pathlib import Path
from typing import get_args

import numpy as np
import pytest

import dryingsim
from dryingsim import constants
from dryingsim.evidence import Evidence, Kind, constants_of, evidence_of

PACKAGE = Path(dryingsim.__file__).parent
MODULES = sorted(
    ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
    for path in PACKAGE.rglob("[!_]*.py")
    if "Evidence(" in path.read_text(encoding="utf-8") and path.stem != "evidence"
)
# every number that the modules of these packages name carries its evidence
COMPLETE = ("properties", "kernels", "model", "judge", "kitchen")


def test_the_evidence_of_every_number_is_complete():
    wrong, seen = [], 0
    for name in MODULES:
        for constant in constants_of(import_module(f"dryingsim.{name}")):
            evidence, seen = constant.evidence, seen + 1
            low, high = evidence.range or (-np.inf, np.inf)
            whole = evidence.unit and evidence.source and evidence.kind in get_args(Kind) and low < high
            if not (whole and (evidence.range is None or low <= constant.value <= high)):
                wrong.append(f"{name}.{constant.name}: {constant}")
    assert wrong == []
    assert seen > 90


@pytest.mark.parametrize("part", COMPLETE)
def test_no_number_goes_without(part):
    bare = []
    for path in (PACKAGE / part).glob("[!_]*.py"):
        module = import_module(f"dryingsim.{part}.{path.stem}")
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.Assign):
                names = [leaf.id for leaf in ast.walk(node) if isinstance(leaf, ast.Name)]
                literal = not any(isinstance(leaf, ast.Name) for leaf in ast.walk(node.value))
                bare += [
                    f"{path.stem}.{name}"
                    for name in names
                    if literal and name.isupper() and isinstance(getattr(module, name), float)
                ]
    assert bare == []


def test_a_constant_is_a_plain_number():
    assert type(constants.GRAVITY) is float
    assert pickle.loads(pickle.dumps(constants.GRAVITY)) == 9.80665
    assert (np.ones(3, np.float32) * constants.GRAVITY).dtype == np.float32


def test_evidence_in_words():
    assert evidence_of(constants, "GAS_CONSTANT").words == "exact: since the 2019 SI (CODATA 2018)"
    assert Evidence("K", "estimate", "as said", (1.0, 2.0)).words == "estimate: as said (1 to 2)"
    assert Evidence("K", "fitted", "as said", (1.0, 1.0)).words == "fitted: as said"
