"""What each change to a batch is, as a sentence, by its name in `dryingsim.judge.remedies`."""

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.remedies import HOTTER_K, HUMID_K, OVEN_K, RemedyName


def _both(temperature_K: float) -> str:
    """Return a temperature in both systems: the sentence also stands where nobody chooses units."""
    celsius = temperature_K - ZERO_CELSIUS
    return f"{celsius:.0f} °C ({1.8 * celsius + 32.0:.0f} °F)"


BOILING = "boiling water or enough marinade"  # little marinade cools as the slices go in
WASHED_OUT = (
    "Plain water washes salt and sugar out of the slices, which is not computed: at the weights printed they are then wetter "
    "than computed. Dry them to the weight of this batch with salt and sugar set to 0, a good deal lower, or keep them in the "
    "refrigerator"
)
IN_WATER = "Plain water washes salt and sugar out: dry to a lower weight than printed."
CHANGES: dict[RemedyName, str] = {
    "as it is": "Nothing is changed.",
    "heated first": f"The slices are heated in {BOILING} until their middle is as hot as the home advice asks. {IN_WATER}",
    "boiled first": f"The slices go into {BOILING} for five minutes before they are dried. {IN_WATER}",
    "humid first": f"First come 70 min of air at {_both(HUMID_K)} and 95 % relative humidity.",
    "hotter first": f"The first drying stage runs in air of {_both(HOTTER_K)}, or of the highest setting the appliance has.",
    "oven after": f"The dried slices go into a hot oven of {_both(OVEN_K)} for ten minutes.",
    "thinner": "The slices are a third thinner.",
}
