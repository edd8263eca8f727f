"""What a judgement found, as a key and its numbers; the sentence is made in `dryingsim.show.finding_words`."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Finding:
    """Something found, without a word of any language.

    Attributes
    ----------
    key : str
        What it is; the tables of words in `dryingsim.show` have a sentence for each.
    values : mapping of str to float, int or str
        The numbers in that sentence, in SI: their names end in the unit. Text only as a person or the catalog gave it.
    """

    key: str
    values: Mapping[str, float | int | str] = field(default_factory=dict)
