"""What a serving of the dried meat holds, and whether it is too salty, in words."""

from dataclasses import asdict
from typing import Any

from dryingsim.batch.catalog.ingredients import SALT_PER_SODIUM
from dryingsim.judge.serving import (
    DRIED_BEEF_SODIUM,
    DRIED_BEEF_SUGAR,
    MILD_STRIP_SALT,
    STRIP_J_KG,
    STRIP_PROTEIN,
    STRIP_SODIUM,
    STRIP_SUGAR,
    Serving,
)
from dryingsim.judge.yield_and_cost import SERVING_KG

_SALTY = {
    "mild": "No, rather mild",
    "usual": "No, as dried meat usually is",
    "very salty": "It may be, eaten as it is",
    "too salty": "Yes, hardly eatable as it is",
}
_SWEET = {
    "hardly sweet": f"It is hardly sweet: less sugar than salted dried beef ({100.0 * DRIED_BEEF_SUGAR:.1f} %)",
    "usual": f"Its sugar lies between salted dried beef ({100.0 * DRIED_BEEF_SUGAR:.1f} %) and beef strip "
    f"({100.0 * STRIP_SUGAR:.1f} %)",
    "sweet": f"It is sweet: more sugar than beef strip ({100.0 * STRIP_SUGAR:.1f} %)",
}


def serving_brief(serving: Serving) -> str:
    """Return in a line what a serving holds, and whether it is too salty."""
    return (
        f"{1e3 * serving.salt_kg:.1f} g of salt, {1e3 * serving.protein_kg:.0f} g of protein. Too salty? "
        f"{_SALTY[serving.saltiness]}."
    )


def serving_sentences(serving: Serving) -> list[str]:
    """Return what a serving holds and whether it is too salty, in words.

    Examples
    --------
    >>> from dryingsim.judge.serving import Serving
    >>> plain = Serving(salt_kg=1e-3, sodium_kg=4.3e-4, sugar_kg=2e-3, protein_kg=0.013, fat_kg=0.002, energy_J=3.3e5)
    >>> serving_sentences(plain)[1].split(":")[0]
    'Too salty? No, as dried meat usually is'
    """
    grams = {name: 1e3 * kg for name, kg in asdict(serving).items()}
    spans = serving.nine_in_ten()

    def span(name: str, scale: float, digits: int = 1, step: int = 0) -> str:
        ends = (scale * value for value in spans[name])
        return " to ".join(f"{_round(end, step)}" if step else f"{end:.{digits}f}" for end in ends)

    sodium = (MILD_STRIP_SALT / SALT_PER_SODIUM, STRIP_SODIUM, DRIED_BEEF_SODIUM)
    mild, strip, beef = (f"{100.0 * share:.2g} g" for share in sodium)
    return [
        f"A serving of {1e3 * SERVING_KG:.0f} g (1 oz) holds about {grams['salt_kg']:.1f} g of salt, in all "
        f"{_round(1e3 * grams['sodium_kg'], 10)} mg of sodium ({span('sodium_kg', 1e6, step=10)}), {grams['sugar_kg']:.1f} g of "
        f"sugar ({span('sugar_kg', 1e3)}), {grams['protein_kg']:.0f} g of protein ({span('protein_kg', 1e3, 0)}), "
        f"{grams['fat_kg']:.1f} g of fat ({span('fat_kg', 1e3)}), {_round(serving.energy_J / 4184.0, 5)} kcal "
        f"({span('energy_J', 1.0 / 4184.0, step=5)}): an estimate, not a declaration; nine times in ten between the two in "
        "brackets, by make of sauce, animal and when it is taken out.",
        f"Too salty? {_SALTY[serving.saltiness]}: {100.0 * serving.sodium:.2g} g of sodium in 100 g; published dried meats "
        f"hold {mild} (duck strip, derived from J. Anim. Sci. Technol. 62:553), {strip} (beef strip, USDA SR28 19002) and "
        f"{beef} (salted dried beef, 13350). {_SWEET[serving.sweetness]}. Beef strip holds "
        f"{1e3 * SERVING_KG * STRIP_PROTEIN:.0f} g of protein and {_round(SERVING_KG * STRIP_J_KG / 4184.0, 5)} kcal in "
        "a serving (19002).",
    ]


def serving_values(serving: Serving) -> dict[str, Any]:
    """Return what a serving holds in SI, with how salty and how sweet it is."""
    return asdict(serving) | {
        "nine_in_ten": serving.nine_in_ten(),
        "of_kg": SERVING_KG,
        "saltiness": serving.saltiness,
        "sweetness": serving.sweetness,
    }


def _round(value: float, step: int) -> int:
    return step * round(value / step)
