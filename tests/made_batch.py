"""The demonstration as it would be without heating the slices first: warm air, then ten minutes in a hot oven."""

from dryingsim.batch.reading.batch_file import demo_text, parse_batch
from dryingsim.batch.schema import Batch

_OVEN = """[[stage]]
name = "oven finish"
air = "135 degC"
speed = "1.0 m/s"             # an oven with its fan on (estimate)
duration = "10 min"

"""


def warm_air_text() -> str:
    """Return the starting file with drying stages alone."""
    text = demo_text()
    begin, end = text.index("[[stage]]"), text.index('[[stage]]\nname = "drying"')
    last = text.index("# When the batch counts as dry.")
    return text[:begin] + text[end:last] + _OVEN + text[last:]


def warm_air() -> Batch:
    """Return the batch of that file."""
    return parse_batch(warm_air_text(), "demo")
