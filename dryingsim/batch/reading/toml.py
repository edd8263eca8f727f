"""A TOML text taken apart. What is wrong with its spelling is told by line, in the words of who typed it."""

import re
import tomllib
from typing import Any

from dryingsim.batch.checks import show
from dryingsim.errors import InputError

_DEEPEST = 16  # tables and lists within each other; no file of ours has half as many
_TOO_DEEP = "tables and lists within each other, more than can be meant"
# what the reader of the standard library says (the beginning), and what is meant
_MEANT: tuple[tuple[str, str], ...] = (
    (
        "Invalid value",
        "a value is expected after the '='; text and quantities stand in quotes, such as \"5 mm\"",
    ),
    ("Expected newline", "something follows the value that does not belong there; a remark begins with #"),
    (
        "Expected '='",
        'a key with its value is expected, such as thickness = "5 mm", or a heading such as [meat]',
    ),
    (
        "Invalid statement",
        'a key with its value is expected, such as thickness = "5 mm", or a heading such as [meat]',
    ),
    (
        "Invalid initial",
        'a key with its value is expected, such as thickness = "5 mm", or a heading such as [meat]',
    ),
    ("Expected ']]'", "the brackets that close a heading are missing, as in [[stage]]"),
    ("Expected ']'", "the bracket that closes a heading is missing, as in [meat]"),
    (
        "Cannot declare",
        "this heading stands there a second time; only one in double brackets may, as [[stage]]",
    ),
    ("Cannot overwrite", "this stands there a second time"),
    ("Duplicate inline", "a key stands twice between the braces"),
    ("Cannot (mutate|redefine)", "this was told in full further up; nothing can be added to it here"),
    ("Unterminated string", "the quotation mark that ends a text is missing"),
    (r"Illegal character '\\(n|r)", "the quotation mark that ends a text is missing"),
    ("Expected (\"'''|'\"\"\"|\"'\"|'\"')", "the quotation mark that ends a text is missing"),
    ("(Illegal|Found invalid) character", "there is a letter that no text file should hold"),
    ("Unclosed array", "the bracket ] that ends a list is missing, or a comma in it"),
    ("Unclosed inline table", "the brace } that ends a table is missing, or a comma in it"),
    (
        "(Unescaped|Invalid hex|Escaped)",
        r"a backslash in double quotes begins a special letter; write it twice: \\",
    ),
    ("Invalid date", "this looks like a date but is none; text stands in quotes"),
    ("Exceeds the limit", "a number has thousands of digits"),
)
_BARE = re.compile(r"\s*([\w.-]+)\s*=\s*([^\"'\[{#\s=][^#=]*?)\s*(?:#.*)?")
_TEXT = re.compile(r'"[^"]*"')
_BARE_INSIDE = re.compile(
    r"(?:[{,]\s*([\w.-]+\s*=\s*)|[\[,]\s*)([+-]?\d[\d.]*\s*[^\W\d_%°][^,}\]#]*?|\d[\d.]*\s*%)\s*[,}\]]"
)
_DECIMAL_COMMA = re.compile(r"[+-]?\d+,\d+")
_CURLED = "‘’“”„«»´`"  # what a word processor makes of quotation marks


def parse_toml(text: str, name: str) -> dict[str, Any]:
    """Return the tables of a TOML text.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.
    """
    try:
        tables = tomllib.loads(text)
    except RecursionError:
        raise InputError(f"{name}: {_TOO_DEEP}") from None
    except ValueError as error:  # a TOMLDecodeError, or a number too long for Python
        raise InputError(f"{name}: {_told(str(error), text)}") from None
    if _deeper_than(_DEEPEST, tables):
        raise InputError(f"{name}: {_TOO_DEEP}")
    return tables


def _deeper_than(most: int, tables: dict[str, Any]) -> bool:
    level: list[Any] = [tables]
    for _ in range(most):
        inside = [one for outer in level for one in (outer.values() if isinstance(outer, dict) else outer)]
        level = [one for one in inside if isinstance(one, dict | list)]
    return bool(level)


def _told(message: str, text: str) -> str:
    """Return where a reader's message is about, and what is wrong there: "line 3, column 5: ..."."""
    placed = re.fullmatch(r"(.*) \(at (?:line (\d+), column (\d+)|end of document)\)", message, re.DOTALL)
    if placed is None:
        return _meant(message, "")
    lines = text.split("\n")
    line, column = int(placed[2] or len(lines)), placed[3] or len(lines[-1]) + 1
    return f"line {line}, column {column}: {_meant(placed[1], lines[line - 1])}"


def _meant(message: str, line: str) -> str:
    """Say in plain words what is wrong with a line.

    Examples
    --------
    >>> _meant("Expected newline or end of document after a statement", "thickness = 5 mm  # raw")
    'text and quantities stand in quotes: thickness = "5 mm"'
    >>> _meant("Cannot overwrite a value", 'air = "70 degC"')
    "this stands there a second time: 'air'"
    >>> _meant("Unclosed inline table", 'thickness = [{ value = 5 mm, share = "50 %" }]')
    'text and quantities stand in quotes: value = "5 mm"'
    """
    bare = _BARE.fullmatch(line.rstrip("\r"))
    if bare and message.startswith(("Invalid value", "Expected newline", "Invalid date")):
        key, value = bare[1], bare[2].strip(_CURLED + "\"'")
        if _DECIMAL_COMMA.fullmatch(value):
            return f"the decimal sign is a point: {key} = {value.replace(',', '.')}"
        if value.isprintable():
            if bare[2][0] in _CURLED:
                return f'the quotation marks are to be straight ones: {key} = "{value[:60]}"'
            return f'text and quantities stand in quotes: {key} = "{value[:60]}"'
    if message.startswith(("Unclosed", "Invalid value")):
        if line.count('"') % 2:
            return "a quotation mark is missing in this line; text and quantities stand between two of them"
        inside = _BARE_INSIDE.search(_TEXT.sub('""', line))
        if inside:
            return f'text and quantities stand in quotes: {inside[1] or ""}"{inside[2][:60]}"'
    if message.startswith(("Invalid initial", "Expected")) and line.count("{") > line.count("}"):
        message = "Unclosed inline table"
    plain = next((words for begin, words in _MEANT if re.match(begin, message)), "")
    if not plain:
        return f"{' '.join(message.split())} (not valid TOML)"
    twice = line.partition("=")[0].strip(" []") if message.startswith("Cannot") else ""
    return f"{plain}: {show(twice)}" if twice else plain
