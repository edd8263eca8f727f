"""What judgements find: a key and numbers in `judge`, the sentence in `show`."""

import ast
import inspect
import re
from pathlib import Path

import pytest

import dryingsim.judge
from dryingsim.judge.findings import Finding
from dryingsim.show.finding_words import SENTENCES, objection, sentence

MODULES = {
    path.stem: ast.parse(path.read_text("utf-8")) for path in Path(dryingsim.judge.__path__[0]).glob("*.py")
}


def found_keys():
    """Yield the keys that the modules of `judge` find."""
    for tree in MODULES.values():
        for node in ast.walk(tree):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == "Finding":
                assert isinstance(node.args[0], ast.Constant), ast.unparse(node)
                yield node.args[0].value


def test_there_is_a_sentence_for_every_finding_and_no_other():
    assert set(found_keys()) == set(SENTENCES)


@pytest.mark.parametrize("key", SENTENCES)
def test_a_sentence_has_no_full_stop_and_promises_nothing(key):
    words = SENTENCES[key]
    text = words if isinstance(words, str) else inspect.getsource(words)
    assert not text.endswith(".")
    assert not re.search(r"\bsafe(ly)?\b", text, re.IGNORECASE)


def test_temperatures_are_told_in_any_unit():
    found = Finding("hotter_than_its_air", {"meat_K": 373.15, "line": 7})
    assert "the meat, 100 degC, is" in sentence(found)
    assert sentence(found, lambda kelvin: f"{kelvin:.0f} K").startswith("the meat, 373 K, is")
    assert objection(found) == f"{sentence(found)} (line 7)"


def test_a_number_is_told_in_the_unit_after_the_stroke():
    values = {"before_K": 280.0, "after_K": 300.0, "span_s": 90.0, "thickness_m": 3e-3}
    assert "within 1.5 min, faster than a slice of 3 mm" in sentence(Finding("fast_rise", values))
