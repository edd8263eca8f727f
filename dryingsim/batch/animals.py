"""Animals by name, which of the words for a species each one is, and what meat is called ground.

A person calls the meat what it is, "duck breast"; guidelines speak of poultry. Both are compared, so that a slip in the
species does not ask less of the meat than its name does.
"""

import re
from typing import Any, Literal, get_args

from dryingsim.batch.checks import check_choice, show
from dryingsim.errors import InputError

Species = Literal["beef", "pork", "poultry", "game", "fish", "other", "unknown"]
_ANIMALS: dict[Species, str] = {
    "beef": "beef veal cow ox cattle",
    "pork": "pork pig swine hog bacon ham gammon",
    "poultry": "poultry bird chicken hen turkey duck goose quail ostrich emu pheasant partridge pigeon squab guineafowl",
    "game": "game venison deer elk moose reindeer caribou antelope boar bear rabbit hare squirrel kangaroo bison",
    "fish": "fish salmon tuna trout cod eel herring mackerel haddock halibut tilapia catfish shark swordfish sturgeon",
    "other": "lamb mutton sheep goat horse",
}
_IRREGULAR = {"geese": "goose", "oxen": "ox"}
_SPECIES_OF: dict[str, Species] = {
    animal: species for species, animals in _ANIMALS.items() for animal in animals.split()
}
_ALL_OF_IT: dict[Species, str] = {
    "beef": "all cattle",
    "pork": "all pigs",
    "poultry": "all birds",
    "game": "all wild animals with fur",
    "fish": "all fish",
    "other": "all other animals",
}
# what guidelines ask rises so
_RISING: tuple[Species, ...] = ("other", "beef", "pork", "game", "poultry", "fish")


def _species_of(word: str) -> Species | None:
    word = _IRREGULAR.get(word, word)
    return _SPECIES_OF.get(word) or _SPECIES_OF.get(word.removesuffix("s"))


def clashing(name: str, species: Species) -> Species | None:
    """Return the species that a name speaks of where another one was stated; None where they agree.

    Of several animals named the one that asks most counts; "turkey bacon" is poultry, and may be stated so.

    Parameters
    ----------
    name : str
        What a person calls the meat.
    species : str
        As stated; what was not stated agrees with any name.

    Examples
    --------
    >>> clashing("Duck breast", "other"), clashing("duck breast", "poultry"), clashing("hamburger", "pork")
    ('poultry', None, None)
    """
    named = {_species_of(word) for word in re.findall("[a-z]+", name.lower())} - {None, "other"}
    if species == "unknown" or not named:
        return None
    most = max((kind for kind in _RISING if kind in named), key=_RISING.index)
    agrees = species in named and _RISING.index(most) <= _RISING.index(species)
    return None if agrees else most


def stricter(stated: Species, named: Species | None) -> Species:
    """Return what meat is judged as that was stated to be one species and is named as another.

    Parameters
    ----------
    stated : str
    named : str, optional
        What the name speaks of; None where it agrees.

    Examples
    --------
    >>> stricter("beef", "game"), stricter("beef", "poultry"), stricter("poultry", None)
    ('game', 'unknown', 'poultry')
    """
    if named is None:
        return stated
    of_meat = ("beef", "pork", "game")
    return max(stated, named, key=_RISING.index) if stated in of_meat and named in of_meat else "unknown"


def check_species(where: str, typed: Any) -> str:
    """Return a species, or raise naming the one that an animal belongs to.

    Parameters
    ----------
    where : str
        Its place, for messages.
    typed : object
    """
    animal = None if not isinstance(typed, str) else _species_of(typed.lower().strip())
    if animal is not None and typed != animal:
        raise InputError(f"{where} = {show(typed)}: did you mean '{animal}' ({_ALL_OF_IT[animal]})?")
    return check_choice(where, typed, get_args(Species))


def called_ground(name: str) -> bool:
    """Whether meat is ground by what it is called: "minced beef 90/10", "ground turkey".

    Parameters
    ----------
    name : str
    """
    return re.search(r"\b(minced|ground)\b", name.lower()) is not None
