"""Batch files as text, and how to change them."""

IN_GIVEN_AIR = """
[meat]
cut = "beef eye of round"
thickness = "5 mm"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"

[room]
temperature = "21 degC"
humidity = "45 %"

[[stage]]
name = "dry"
air = "68 degC"
speed = "1.0 m/s"
duration = "5 h"
"""

IN_OVEN = """
[meat]
cut = "beef eye of round"
thickness = "5 mm"
length = "120 mm"
width = "50 mm"
weight = "0.7 kg"

[room]
temperature = "21 degC"
humidity = "45 %"

[appliance]
use = "oven with fan"

[trays]
support = "mesh"

[[stage]]
name = "dry"
air = "68 degC"
duration = "5 h"
"""


def changed(*pairs, text):
    """The text with each old piece, which must stand there once, replaced by the new one."""
    for old, new in pairs:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return text
