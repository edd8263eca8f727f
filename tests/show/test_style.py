"""The family's colours stand out from the paper and from each other, with any colour vision."""

import io
from itertools import combinations

import numpy as np
import pytest
from matplotlib.figure import Figure

from dryingsim.show.core import style
from dryingsim.show.core.inline_svg import css_variables
from dryingsim.show.core.page import DARK, LIGHT

# How colours of linear RGB look to those without one kind of cone: Machado, Oliveira & Fernandes (2009), severity 1.0.
VISION = {
    "usual": np.eye(3),
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
# sRGB to CIE XYZ over the white point D65 (IEC 61966-2-1)
XYZ = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])


def linear(colour):
    values = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)]) / 255.0
    return np.where(values <= 0.04045, values / 12.92, ((values + 0.055) / 1.055) ** 2.4)


def contrast(one, other):
    """Contrast by WCAG 2.1: lighter over darker luminance, each plus 0.05."""
    low, high = sorted(float(XYZ[1] @ linear(colour)) for colour in (one, other))
    return (high + 0.05) / (low + 0.05)


def lab(rgb):
    """CIE 1976 L*a*b*."""
    share = XYZ @ np.clip(rgb, 0.0, 1.0) / np.array([0.9505, 1.0, 1.089])
    f = np.where(share > 0.008856, np.cbrt(share), 7.787 * share + 16.0 / 116.0)
    return np.array([116.0 * f[1] - 16.0, 500.0 * (f[0] - f[1]), 200.0 * (f[1] - f[2])])


def test_contrast_is_that_of_the_guidelines():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#767676", "#ffffff") == pytest.approx(4.54, abs=0.01)  # the well-known limit grey


@pytest.mark.parametrize("colour", style.INKS)
def test_lines_stand_out_three_to_one_and_words_four_and_a_half(colour):
    assert contrast(colour, style.PAPER) >= 3.0
    assert contrast(style.INKS[colour], style.PAPER) >= 4.5
    assert contrast(style.DARK[colour], style.DARK_PAPER) >= 4.5  # both


@pytest.mark.parametrize("page", [LIGHT, DARK])
def test_words_of_the_page_stand_out(page):
    for words in ("--text", "--quiet", "--link", "--alert"):
        for ground in ("--page", "--panel"):
            assert contrast(page[words], page[ground]) >= 4.5, (words, ground)


def test_light_and_dark_know_the_same_colours():
    assert set(css_variables(dark=False)) == set(css_variables(dark=True))
    assert set(LIGHT) == set(DARK)
    for dark in (False, True):
        ground = css_variables(dark=dark)["--paper"]
        for name, colour in css_variables(dark=dark).items():
            if name != "--paper":
                assert contrast(colour, ground) >= (4.5 if name.endswith("ink") else 3.0), name


@pytest.mark.parametrize("vision", VISION)
@pytest.mark.parametrize("dark", [False, True])
def test_lines_are_told_apart(vision, dark):
    # 10 is about four of the smallest differences seen side by side (2.3, Mahy et al. 1994), for lines lie apart
    colours = [style.DARK[c] if dark else c for c in style.LINE_COLOURS]
    seen = [lab(np.array(VISION[vision]) @ linear(colour)) for colour in colours]
    for (i, one), (j, other) in combinations(enumerate(seen), 2):
        assert np.linalg.norm(one - other) > 10.0, (style.LINE_COLOURS[i], style.LINE_COLOURS[j])


def axes_for(values):
    axes = Figure(figsize=(5.0, 4.0)).add_subplot()
    axes.set_ylim(0.0, 1.0)
    axes.set_xlim(0.0, 1.0 / (1.0 - style.room_for(axes, ["a name"])))
    style.name_lines(axes, 1.0, [(value, f"line {i}", style.BLUE) for i, value in enumerate(values)])
    axes.figure.draw_without_rendering()
    return axes


@pytest.mark.parametrize(
    "values", [[0.0, 0.5, 1.0], [0.5, 0.52, 0.54, 0.9], [0.97, 0.98, 1.0], [0.2, float("nan")]]
)
def test_names_stand_apart_and_inside(values):
    axes = axes_for(values)
    boxes = [text.get_window_extent() for text in axes.texts]
    for one, other in combinations(boxes, 2):
        assert not one.overlaps(other)
    frame = axes.get_window_extent()
    for box in boxes:
        assert box.y0 >= frame.y0 - 8.0
        assert box.y1 <= frame.y1 + 8.0
        assert box.x1 <= axes.figure.bbox.x1


def test_lines_that_meet_share_their_name():
    assert [text.get_text() for text in axes_for([0.5, 0.5]).texts] == ["line 0, line 1"]


def test_names_follow_a_logarithmic_scale():
    axes = Figure(figsize=(5.0, 4.0)).add_subplot()
    axes.set_yscale("log")
    axes.set_ylim(1e-4, 1e4)
    style.name_lines(axes, 1.0, [(1.0, "middle", style.RED)])
    assert axes.texts[0].xy[1] == pytest.approx(0.5)
    assert axes.texts[0].get_color() == style.INKS[style.RED]


TYPED = "Costs $x^{$ \u4e7e\u71e5"  # as mathematics it cannot be drawn


def drawn(title):
    sheet = Figure()
    sheet.suptitle(title)
    sheet.savefig(io.BytesIO(), format="png")


def test_what_was_typed_is_drawn_as_it_was_typed_and_without_a_word():
    with pytest.raises(ValueError, match=r"x\^"):
        drawn(TYPED)
    with style.own_settings():
        drawn(TYPED)
