"""First screens keep within their lines, whatever a batch has to be told of; what leaves them stands with the details."""

import pytest
from made_batch import warm_air

import dryingsim as ds
from dryingsim.answer import Answer
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.show.core.document import Sentence, Spare, labelled, screen
from dryingsim.show.core.tables import Column, Table
from dryingsim.show.core.terminal import plain_text
from dryingsim.show.run.first_screen import run_document

pytestmark = pytest.mark.usefixtures("coarse_steps")

_CURED = """
time = "24 h"
temperature = "15 degC"
[marinade.ingredients]
"soy sauce" = "100 mL"
water = "300 mL"
"curing salt" = "6 g"
"""
_LYING = """[
    { value = "5 mm", share = "70 %" },
    { value = "5 mm", share = "20 %", lies = "overlapping" },
    { value = "5 mm", share = "10 %", lies = "sheet" },
]"""
_SHARES = {3: 10, 4: 20, 5: 20, 6: 20, 7: 20, 8: 10}
_SIX = "[" + ", ".join(f'{{ value = "{mm} mm", share = "{share} %" }}' for mm, share in _SHARES.items()) + "]"
_BOILED = 'marinade = "boiling"\nuntil = { core = "160 degF" }'
_RESTED = _BOILED + '\n[[stage]]\nrest = "room"\nduration = "6 h"'


def batch_of(cut, thickness, marinade, heating):
    return parse_batch(
        f"""
[meat]
cut = "{cut}"
form = "sliced"
thickness = {thickness}
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"
[marinade]
{marinade}
[room]
temperature = "21 degC"
humidity = "45 %"
{"[[stage]]" if heating else ""}
{heating}
[[stage]]
air = "155 degF"
speed = "1.0 m/s"
duration = "10 h"
until = {{ water_activity = 0.85 }}
""",
        "made",
    )


BATCHES = {
    "as of old": lambda: warm_air(),
    "of other meat, in six thicknesses": lambda: batch_of("goat", _SIX, 'salt = "15 g/kg"', _BOILED),
    "cured too much, overlapping, rested warm": lambda: batch_of("beef top round", _LYING, _CURED, _RESTED),
    "cured too much, in air alone": lambda: batch_of("turkey breast", _SIX, _CURED, ""),
}


@pytest.mark.parametrize("units", ["metric", "us"])
@pytest.mark.parametrize("kind", BATCHES)
def test_a_run_keeps_within_its_lines(kind, units):
    document = run_document(Answer(ds.run(BATCHES[kind](), nodes=8)), units)
    first = plain_text(document)
    assert len(first.splitlines()) <= 25
    assert max(map(len, first.splitlines())) <= 80
    for label in ("SAFETY", "READY", "WEIGH", "Estimates, which validate no process"):
        assert f"\n{label}" in first
    assert "Look first at" in first
    in_full = " ".join(plain_text(document, details=True).split())
    for block in document.blocks:
        if isinstance(block, Sentence):
            assert " ".join(block.text.split()) in in_full


def made(most_lines):
    answers = labelled(
        {"SAFETY": ["First.", Spare("Why.")], "MEAT": [Spare("Hot.")], "WEIGH": ["Much.", Spare("More.")]}
    )
    table = Table([Column(("", "time", "h"), ["1"])], spare=True)
    return screen("Title", [*answers, table], {"more": ["Told."]}, dict, None, most_lines)


@pytest.mark.parametrize(
    ("most_lines", "left_out"),
    [
        (14, []),
        (13, ["More."]),
        (12, ["More.", "Hot."]),
        (11, ["More.", "Hot.", "Why."]),
        (10, ["More.", "Hot.", "Why.", "time"]),
        (1, ["More.", "Hot.", "Why.", "time"]),  # the rest is never left out
    ],
)
def test_spare_lines_are_left_out_from_the_last_on_and_tables_after_them(most_lines, left_out):
    document = made(most_lines)
    first, in_full = plain_text(document), plain_text(document, details=True)
    assert [words for words in ("More.", "Hot.", "Why.", "time") if words not in first] == left_out
    assert all(words in first for words in ("First.", "Much."))
    assert all(words in in_full for words in ("First.", "Much.", "More.", "Hot.", "Why.", "time"))
