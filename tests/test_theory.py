"""The theory page prints the numbers that the code has, and all of them."""

import re
from dataclasses import fields

import pytest

from dryingsim.batch.catalog.appliances import all_appliances
from dryingsim.batch.uncertainties import INPUTS
from dryingsim.judge.heat_model import numbers
from dryingsim.properties.diffusivity import LEAN_MEAT
from validation import theory

PAGE = theory.PAGE.read_text(encoding="utf-8")


def test_the_page_is_up_to_date():
    assert theory.updated(PAGE) == PAGE, "python -m validation.theory"


def test_every_table_stands_on_the_page_once():
    asked = re.findall(r"<!-- table: ([a-z ]+) -->", PAGE)
    assert sorted(asked) == sorted({*theory.MODULES, *theory.TABLES})


def test_stale_numbers_are_replaced_and_words_are_not():
    page = "words\n<!-- table: run -->\n| `nodes` | 9999 |\n<!-- end -->\nmore words\n"
    new = theory.updated(page)
    assert "9999" not in new
    assert "| `nodes` | 28 |" in new
    assert new.startswith("words\n<!-- table: run -->\n")
    assert new.endswith("<!-- end -->\nmore words\n")
    assert theory.updated(new) == new


def test_every_module_with_numbers_of_the_model_is_looked_at():
    covered = {one for names in theory.MODULES.values() for one in theory.modules(names)}
    parts = ("properties", "kernels", "model", "judge", "kitchen", "engine", "explore", "learn", "plan")
    there = {f"{part}.{p.stem}" for part in parts for p in (theory.PACKAGE / part).glob("[!_]*.py")}
    with_numbers = {
        name for name in there if list(theory.constants(theory.import_module(f"dryingsim.{name}")))
    }
    assert with_numbers <= covered | {"properties.diffusivity"}  # which has a table of its own


@pytest.mark.parametrize(
    ("where", "cells"),
    [
        ("model.build.EMISSIVITY", "0.95 | - | 0.92 to 0.95 | published | as water"),
        ("properties.water_activity.GAB_C", "11 | - |  | derived | water of the protein"),
        (
            "simulate.LONGEST_STAGE_S",
            "259200 |  |  |  | a stage that ends by a condition",
        ),  # a remark
        ("kernels.own_steps._TRIES_SEEN", "2000 | - |  | numerical | members that get less far"),
    ],
)
def test_constants_stand_with_their_evidence(where, cells):
    line = next(line for line in PAGE.splitlines() if line.startswith(f"| `{where}` |"))
    assert line.startswith(f"| `{where}` | {cells}")


def test_all_numbers_of_the_catalogs_are_printed():
    for one in numbers():
        assert f"| `{one.name}` | {theory.number(one.value)} |" in PAGE
    for described in all_appliances().values():
        for key, entry in described.entries.items():
            assert f"| `{key}` | {entry.text} | {entry.span_text} | {entry.source} |" in PAGE
    for one in INPUTS.values():
        assert one.words in PAGE
    for field in fields(LEAN_MEAT):
        assert f"| `{field.name}` |" in PAGE


def test_links_inside_the_page_lead_somewhere():
    titles = {
        re.sub(r"[^a-z0-9 -]", "", t.lower()).replace(" ", "-") for t in re.findall(r"^## (.+)$", PAGE, re.M)
    }
    links = re.findall(r"\]\(#([^)]+)\)", PAGE)
    assert links
    assert set(links) <= titles


def test_equations_are_closed():
    prose = re.sub(r"<!-- table.*?<!-- end -->", "", PAGE, flags=re.DOTALL)
    assert prose.count("$$") % 2 == 0
    for paragraph in prose.replace("$$", "").split("\n\n"):
        assert paragraph.count("$") % 2 == 0, paragraph
        assert paragraph.count("{") == paragraph.count("}"), paragraph


def test_constants_that_equations_name_are_public_and_there():
    prose = re.sub(r"<!-- table.*?<!-- end -->", "", PAGE, flags=re.DOTALL)
    named = set(re.findall(r"`([A-Z][A-Z0-9]+(?:_[A-Z0-9]+)*)`", prose))
    assert {"GAB_MONOLAYER", "PITZER_BETA0", "NORRISH_SUCROSE", "GLASS_K"} <= named
    tabled = set(re.findall(r"^\| `[\w.]+\.([A-Z]\w*)` \|", PAGE, re.M))
    assert named <= tabled
    assert not re.findall(r"`_[A-Z]\w*`", prose)


@pytest.mark.parametrize(
    "of",
    ["Guggenheim", "Pitzer", "Norrish", "Laplace", "surrogate", "Sobol", "Mould", "Gordon & Taylor", "Crank"],
)
def test_every_law_stands_with_its_equation(of):
    prose = re.sub(r"<!-- table.*?<!-- end -->", "", PAGE, flags=re.DOTALL)
    places = [place.start() for place in re.finditer(of, prose)]
    assert any("$$" in prose[place - 700 : place + 900] for place in places), of
