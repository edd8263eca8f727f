"""Text that may come from anywhere, made harmless for a screen, a page or a picture.

A terminal obeys escape sequences, and a right-to-left override makes a line read as something else. Such characters are
shown by their number, as JSON and TOML write them, so that JSON on a screen stays exact.
"""

import codecs
import re
from html import escape

_ESCAPED = "dryingsim.escaped"  # the name of the error handler of encodings

# controls but tab and line end; marks of the direction of writing; line separators; what is no character by itself
_CONTROLS = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b\u200e\u200f\u2028-\u202e\u2060-\u206f\ufeff\ud800-\udfff\U000e0000-\U000e007f]"
)


def visible(text: str) -> str:
    r"""Return a text with every control character as its number.

    Examples
    --------
    >>> visible("\x1b[2Jdone") == "\\u001b[2Jdone"
    True
    """
    return _CONTROLS.sub(lambda match: _number(match[0]), text)


def html_text(text: str) -> str:
    """Return a text as it stands in a page, or in quotes in a tag."""
    return escape(visible(text))


def escaping_errors() -> str:
    """Return the name of an error handler which writes letters that an encoding has not as their numbers."""
    codecs.register_error(_ESCAPED, _as_numbers)
    return _ESCAPED


def _as_numbers(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(_number, error.object[error.start : error.end])), error.end


def _number(character: str) -> str:
    units = character.encode("utf-16-be", "surrogatepass")
    return "".join(f"\\u{units[i]:02x}{units[i + 1]:02x}" for i in range(0, len(units), 2))
