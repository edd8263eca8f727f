"""What judgements find: a key and numbers in `judge`, the sentence in `show`."""

import ast
import inspect
import re
from pathlib import Path

import pytest

import dryingsim.judge
from dryingsim.judge.findings import Finding
from dryingsim.show.core.quantities import Unit
from dryingsim.show.lethality.finding_words import SENTENCES, objection, sentence

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
    fahrenheit = Unit("temperature", "degF").text
    assert "faster than a slice of 0.12 in can" in sentence(Finding("fast_rise", values), fahrenheit)


# what may hold words in `judge`: the message of an error, what a constant rests on, the names that columns may have
_MAY = {"InputError", "Refusal", "Evidence", "by_word"}
_A_SENTENCE = 25  # letters and spaces in a row


def sentences(tree):
    """Yield the texts of a module that read like a sentence, docstrings and what `_MAY` hold them aside."""
    nodes = list(ast.walk(tree))
    calls = [node for node in nodes if isinstance(node, ast.Call) and ast.unparse(node.func) in _MAY]
    quoted = {inside.id for call in calls for inside in ast.walk(call) if isinstance(inside, ast.Name)}
    aside = [
        *calls,
        *(node for node in nodes if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)),
        *(
            node
            for node in tree.body
            if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) in quoted
        ),
    ]
    allowed = {id(inside) for node in aside for inside in ast.walk(node)}
    for node in nodes:
        text = node.value if isinstance(node, ast.Constant) and id(node) not in allowed else None
        if isinstance(text, str) and " " in text and re.search(rf"[A-Za-z ]{{{_A_SENTENCE},}}", text):
            yield text


@pytest.mark.parametrize("name", MODULES)
def test_no_judgement_speaks_english(name):
    assert list(sentences(MODULES[name])) == []


def test_a_sentence_in_a_judgement_would_be_seen():
    assert list(sentences(ast.parse('warning = f"some of the meat stands warm for {hours} h"'))) != []
