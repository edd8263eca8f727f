"""How slices lie, as a batch file says it: shares that overlap or lie on foil."""

from dataclasses import replace

import pytest
from complaints import message_about
from made_text import IN_GIVEN_AIR

import dryingsim as ds
from dryingsim.batch.laying import of_one_thickness, share_lying
from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.errors import InputError


def on_trays(lines, thickness='"5 mm"'):
    text = IN_GIVEN_AIR.replace('"5 mm"', thickness)
    return text.replace("[room]", f"[trays]\n{lines}\n[room]")


def classes(lines, thickness='"5 mm"'):
    read = parse_batch(on_trays(lines, thickness), "b.toml").meat.classes
    return [(one.thickness_m, pytest.approx(one.share, abs=1e-15), one.lies) for one in read]


TWO = '[{ value = "4 mm", share = "25 %" }, { value = "6 mm", share = "75 %" }]'


def test_shares_split_every_class():
    assert classes('overlapping = "10 %"\non_sheet = "20 %"', TWO) == [
        (0.004, 0.25 * 0.7, "flat"),
        (0.006, 0.75 * 0.7, "flat"),
        (0.004, 0.25 * 0.2, "sheet"),
        (0.006, 0.75 * 0.2, "sheet"),
        (0.004, 0.25 * 0.1, "overlapping"),
        (0.006, 0.75 * 0.1, "overlapping"),
    ]
    assert classes('overlapping = "100 %"') == [(0.005, 1.0, "overlapping")]


def test_nothing_said_is_all_flat():
    plain = parse_batch(IN_GIVEN_AIR, "b.toml")
    assert parse_batch(on_trays('overlapping = "0 %"'), "b.toml") == plain
    assert [one.lies for one in plain.meat.classes] == ["flat"]


def test_a_class_may_say_how_it_lies():
    own = TWO.replace('"75 %"', '"75 %", lies = "overlapping"')
    assert classes("", own) == [(0.004, 0.25, "flat"), (0.006, 0.75, "overlapping")]


@pytest.mark.parametrize("lines", ['overlapping = "33.3 %"\non_sheet = "20 %"', 'overlapping = "100 %"'])
@pytest.mark.parametrize("thickness", ['"5 mm"', TWO])
def test_it_comes_back_from_its_file(lines, thickness):
    batch = parse_batch(on_trays(lines, thickness), "b")
    assert parse_batch(batch.to_toml(), "b").meat == batch.meat


@pytest.mark.parametrize(
    ("lines", "thickness", "says"),
    [
        ('overlapping = "120 %"', '"5 mm"', "overlapping = '120 %' is outside 0 % to 100 %"),
        ('overlapping = "60 %"\non_sheet = "50 %"', '"5 mm"', "sum to 110 %; 100 % at most"),
        ('support = "sheet"\non_sheet = "20 %"', '"5 mm"', 'by support = "sheet"'),
        ('overlaping = "10 %"', '"5 mm"', "did you mean 'overlapping'?"),
        ("overlapping = 10", '"5 mm"', "overlapping = 10"),
        (
            "",
            TWO.replace('"75 %"', '"75 %", lies = "overlaps"'),
            "lies = 'overlaps': did you mean 'overlapping'?",
        ),
        ('overlapping = "5 %"', TWO.replace('"75 %"', '"75 %", lies = "sheet"'), "say how they lie already"),
    ],
)
def test_what_cannot_be_gets_one_line(lines, thickness, says):
    assert says in message_about(on_trays(lines, thickness))


def test_a_batch_built_in_python_is_checked():
    with pytest.raises(InputError, match="ThicknessClass, lies"):
        ds.ThicknessClass(thickness_m=0.005, share=1.0, lies="folded")


def test_another_thickness_lies_as_the_classes_did():
    batch = parse_batch(on_trays('overlapping = "10 %"', TWO), "b")
    single = of_one_thickness(batch.meat.classes, 0.003)
    assert [(one.thickness_m, one.lies) for one in single] == [(0.003, "flat"), (0.003, "overlapping")]
    assert share_lying(single, "overlapping") == pytest.approx(0.1)
    assert replace(batch.meat, classes=single).classes == single
