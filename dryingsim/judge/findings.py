"""What a judgement found, as a key and its numbers; the sentence is made in `dryingsim.show.lethality.finding_words`."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Finding:
    """Something found, without a word of any language.

    Attributes
    ----------
    key : str
        What it is; the tables of words in `dryingsim.show` have a sentence for each.
    values : mapping
        The numbers in that sentence, their names ending in the unit, or the results that hold them; text only as a person
        or the catalog gave it.
    """

    key: str
    values: Mapping[str, Any] = field(default_factory=dict)
