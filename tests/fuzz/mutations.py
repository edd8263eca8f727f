"""What happens to what a person types: slips of the pen, half a file, other encodings, words from elsewhere, malice."""

import json
import random
import re
from collections.abc import Callable

_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_QUOTED = re.compile(r'"[^"\n]*"')
_UNITS = (
    "mm cm m inch in ft g kg lb oz degC degF C F K °C °F % percent s min h hr day m/s ft/min W kW m3/h g/kg J kJ/K kPa "
    "psi mL tbsp cup furlong mi pounds Min MM deg µm kelvins dеgC ℃ EUR/kWh"
)
_NUMBERS = (
    "0 -0 -5 +5 .5 5. 1e3 1e-320 1e308 1e400 1/4 1/0 0x10 1_000 1,5 1.000,5 ½ ５ ∞ nan inf five 5-6 --5 5e"
)
_LONG_NUMBERS = ("1 1/2", "1 000", "5 5", "9" * 400, "0." + "0" * 50 + "1")
_TEXTS = (
    *("", " ", "-", "?", "none", "true", "room", "unknown", "5 mm to 8 mm", "x" * 5000, "\\", "'", '"', "."),
    *(
        "=cmd|' /C calc'!A1",
        "@SUM(A1)",
        "\x1b[31mred\x1b[0m",
        "a\nb",
        "\u202eright to left",
        "面白い",
        "\u00a0",
    ),
    *("e\u0301" * 40, "\U0001f969", "$x^2$", "../../etc/passwd", "%s %d {0} {name}", "[red]x[/red]"),
    *("0:00", "25:61"),
)
_KNOWN_WORDS = (
    *("beef top round", "Pork loin", "minced", "pounded", "sheet", "us", "poultry", "oven", "oven with fan"),
    *("cabinet dehydrator", "switching", "return", "parallel", "still", "room", "energy", "evenness", "meat"),
    *("vacuum pouch", "honey", "table salt"),
)
_RAW_VALUES = (
    *("5", "-1", "0.5", "1e400", "nan", "-inf", "true", "[]", "{}", '["5 mm"]', "[[]]", '{ value = "5 mm" }'),
    *(
        "2026-03-08",
        "12:30:00",
        "1" * 400,
        "1" * 5000,
        "",
        "five",
        "5 mm",
        "[" * 600 + "]" * 600,
        "'''",
        '""" """',
    ),
    *("{ a = " * 60 + "1" + " }" * 60, '"""\n\n"""', '"\\u0000"', '"\\ud800"', '"\\u001b[2J"', '"C:\\meat"'),
)
_LINES = (
    *(
        "[meat]",
        "[[meat]]",
        "[stage]",
        "[[stage]]",
        "[stage.1]",
        "[appliance]",
        "[learned]",
        "[plan]",
        "[spread]",
    ),
    *(
        "[trays]",
        "[room.air]",
        'use = "oven with fan"',
        'file = "b.toml"',
        'file = "missing.toml"',
        'file = "."',
    ),
    *(
        'file = ""',
        'file = "a\\u0000b"',
        "count = 2",
        'rotate_every = "1 h"',
        'door_gap = "20 mm"',
        "= 5",
        "key",
    ),
    *(
        "key =",
        '"" = 1',
        '"a b" = 1',
        '"\\u001b[31m" = 1',
        "a.b.c.d = 1",
        "cut.name = 1",
        "0 = 0",
        "#",
        "\x00",
    ),
    *("\t", "5, 5, 5, 5, 5, 5, 5, 5, 5, 5", ";;;;", ",,,", "time, weight", "# date: yesterday", '"'),
    *("# batch: nowhere.toml", "# batch: "),
)
_CELLS = (
    *(
        "-5",
        "0",
        "999999",
        "1e400",
        "nan",
        "inf",
        "1" * 400,
        "x",
        "4 °C",
        "155 degF",
        "12:65",
        "25:00",
        "10:05",
    ),
    *("3:40 pm", "13:40 pm", "2 h 15 min", "0:00", '"', '"5', '""', "5,5", "=1+1", "５", "-- ", "1 lb 6 oz"),
    *("2026-03-08 10:05", "\x1b[2J", "y" * 140_000),
)
_HEADINGS = (
    *(
        "weight",
        "weight [kg]",
        "wieght [g]",
        "time",
        "time [clock]",
        "time [min]",
        "Time (hh:mm)",
        "time [s]",
    ),
    *(
        "meat [degF]",
        "meat [K]",
        "air [°C]",
        "temperature",
        "Temp °F",
        "rh",
        "relative_humidity",
        "aw",
        "tray",
    ),
    *("slice", "weight [degC]", "note", "", "\x1b[1m", "meat [dеgC]", "5", "[g]", "weight ["),
)
_LOOKALIKES = str.maketrans("aceopxy0O5-.", "асеорхуO0S–،")

Random = random.Random
Mutation = Callable[[Random, str], str]


def typed(rng: Random, text: str) -> str:
    """Return something else in place of one typed value: another number or unit, or nothing like it."""
    found = _NUMBER.search(text)
    if not found and rng.random() < 0.5:
        return rng.choice(_KNOWN_WORDS)
    if not found or rng.random() < 0.06:
        return rng.choice(_TEXTS)
    if rng.random() < 0.4:
        return _spelt(rng, text)
    return text[: found.start()] + _number(rng, found[0], text[found.end() :])


def _number(rng: Random, number: str, unit: str) -> str:
    """Return another number with the unit, or the number with another unit."""
    kind = rng.randrange(8)
    if kind == 0:
        return rng.choice((*_NUMBERS.split(), *_LONG_NUMBERS)) + unit
    if kind <= 3:
        return f"{float(number) * rng.uniform(0.7, 1.4):.3g}{unit}"
    if kind <= 5:
        return (
            f"{float(number) * rng.choice((-1, 0, 0.001, 0.1, 0.5, 0.9, 1.1, 1.3, 2, 10, 1000, 1e6)):g}{unit}"
        )
    if kind == 6:
        return rng.choice((number, unit))
    return f"{number} {rng.choice(_UNITS.split())}"


def _spelt(rng: Random, text: str) -> str:
    """Return a value in another spelling, with another letter, or more than once."""
    spaced = (text.replace(" ", ""), text.replace(" ", "  "), f" {text} ", text.upper(), text.lower())
    twice = (text + text, f"{text} {text}", f"{text}, {text}", f"{text} to {text}")
    marked = rng.choice(("-", "+", "~", "<", "ca. ", "€", "#")) + text
    other = (rng.choice(spaced), rng.choice(twice), marked, text.translate(_LOOKALIKES), _letters(rng, text))
    return rng.choice((*other, other[-1]))


def _letters(rng: Random, text: str) -> str:
    """Return a text with one letter left out, doubled, changed, or swapped with the next."""
    if not text:
        return "x"
    at = rng.randrange(len(text))
    front, one, back = text[:at], text[at], text[at + 1 :]
    other = rng.choice((one.swapcase(), rng.choice("aeinrst _-.0")))
    return front + rng.choice((back, one + one + back, other + back, back[:1] + one + back[1:]))


def _line(rng: Random, text: str, change: Callable[[str], str], wanted: str = "") -> str:
    """Change one line that has something in it, of those that contain what is wanted if there are any."""
    lines = text.split("\n")
    full = [i for i, line in enumerate(lines) if line.strip()]
    at = rng.choice([i for i in full if wanted in lines[i]] or full or [0])
    lines[at] = change(lines[at])
    return "\n".join(lines)


# --- text of any kind ------------------------------------------------------------------------------------------------
def cut_short(rng: Random, text: str) -> str:
    """Half a file."""
    return text[: rng.randrange(len(text) + 1)]


def without_line(rng: Random, text: str) -> str:
    """A line is missing."""
    return _line(rng, text, lambda line: "")


def line_twice(rng: Random, text: str) -> str:
    """A line stands twice."""
    return _line(rng, text, lambda line: f"{line}\n{line}")


def line_between(rng: Random, text: str) -> str:
    """A line from elsewhere."""
    return _line(rng, text, lambda line: f"{line}\n{rng.choice(_LINES)}")


def lines_moved(rng: Random, text: str) -> str:
    """Lines in another order."""
    lines = text.split("\n")
    lines.insert(rng.randrange(len(lines)), lines.pop(rng.randrange(len(lines))))
    return "\n".join(lines)


def letter_changed(rng: Random, text: str) -> str:
    """A letter too many, too few, or wrong."""
    return _line(rng, text, lambda line: _letters(rng, line))


def other_letters(rng: Random, text: str) -> str:
    """Letters that look the same."""
    return _line(rng, text, lambda line: line.translate(_LOOKALIKES))


# --- TOML ------------------------------------------------------------------------------------------------------------
def value_typed(rng: Random, text: str) -> str:
    """Another value in quotes."""
    places = list(_QUOTED.finditer(text))
    if not places:
        return letter_changed(rng, text)
    one = rng.choice(places)
    new = typed(rng, one[0][1:-1])
    quoted = json.dumps(new, ensure_ascii=False) if rng.random() < 0.9 else f'"{new}"'
    return text[: one.start()] + quoted + text[one.end() :]


def value_raw(rng: Random, text: str) -> str:
    """A value of another kind."""

    def change(line: str) -> str:
        key, equals, _ = line.partition("=")
        return f"{key}{equals} {rng.choice(_RAW_VALUES)}"

    return _line(rng, text, change, "=")


def key_changed(rng: Random, text: str) -> str:
    """A key with another name."""
    keys = re.findall(r"^\s*([\w.]+)\s*=", text, re.MULTILINE) or ["x"]

    def change(line: str) -> str:
        key, equals, value = line.partition("=")
        return f"{rng.choice((_letters(rng, key.strip()), key.upper(), rng.choice(keys)))} {equals}{value}"

    return _line(rng, text, change, "=")


def heading_changed(rng: Random, text: str) -> str:
    """A table with another name, or with other brackets."""

    def change(line: str) -> str:
        name = line.strip().strip("[]")
        other = (
            f"[{name}]",
            f"[[{name}]]",
            f"[{_letters(rng, name)}]",
            f"{name} = 1",
            rng.choice(_LINES[:11]),
            "",
        )
        return rng.choice(other)

    return _line(rng, text, change, "[")


# --- tables of readings ----------------------------------------------------------------------------------------------
def _cell(rng: Random, line: str, new: Callable[[str], str]) -> str:
    mark = ";" if ";" in line else ","
    cells = line.split(mark)
    at = rng.randrange(len(cells))
    cells[at] = new(cells[at])
    return mark.join(cells)


def cell_changed(rng: Random, text: str) -> str:
    """Another value in a cell."""

    def new(cell: str) -> str:
        return rng.choice(_CELLS) if rng.random() < 0.33 else typed(rng, cell)

    return _line(rng, text, lambda line: _cell(rng, line, new))


def column_changed(rng: Random, text: str) -> str:
    """Another heading of a column."""
    head = next((line for line in text.split("\n") if line.strip() and not line.startswith("#")), "")

    def new(cell: str) -> str:
        return rng.choice((rng.choice(_HEADINGS), _letters(rng, cell)))

    return text.replace(head, _cell(rng, head, new), 1)


def other_marks(rng: Random, text: str) -> str:
    """Other separators and decimal signs."""
    pairs = (
        (",", ";"),
        (",", "\t"),
        (", ", ","),
        (".", ","),
        (";", ","),
        (":", "."),
        (":", "-"),
        ("\n", "\n\n"),
    )
    return text.replace(*rng.choice(pairs))


def column_dropped(rng: Random, text: str) -> str:
    """A column is missing, or two have changed places, all the way down."""
    mark = ";" if ";" in text else ","
    rows = [line.split(mark) for line in text.split("\n")]
    at, to = rng.randrange(4), rng.randrange(5)
    for row in rows:
        if len(row) > 1 and at < len(row):
            cell = row.pop(at)
            if to < 4:
                row.insert(to, cell)
    return "\n".join(mark.join(row) for row in rows)


# --- bytes -----------------------------------------------------------------------------------------------------------
def as_bytes(rng: Random, content: bytes) -> bytes:
    """Another encoding, other ends of lines, or bytes that are no text."""
    at = rng.randrange(len(content) + 1)
    text = content.decode("utf-8", "replace")
    odd = rng.choice((b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\xe2\x80\xa8", b"\x85", b"\x0c"))
    return rng.choice(
        (
            content[:at] + bytes([rng.randrange(256)]) + content[at + 1 :],
            content[:at] + odd + content[at:],
            b"\xef\xbb\xbf" + content,
            content.replace(b"\n", b"\r\n"),
            content.replace(b"\n", b"\r"),
            text.encode("utf-16"),
            text.replace("deg", "°").encode("latin-1", "replace"),
            b"",
            rng.randbytes(200),
            content + content,
        )
    )


TEXT: tuple[Mutation, ...] = (
    *(cut_short, without_line, line_twice, line_between, lines_moved, letter_changed, other_letters),
)
TOML: tuple[Mutation, ...] = (
    *(value_typed,) * 9,
    *(value_raw,) * 3,
    *(key_changed, key_changed, heading_changed),
    *TEXT,
)
CSV: tuple[Mutation, ...] = (*(cell_changed,) * 8, *(column_changed,) * 3, other_marks, column_dropped, *TEXT)


# --- words -----------------------------------------------------------------------------------------------------------
def words_changed(
    rng: Random, words: tuple[str, ...], all_words: tuple[str, ...], folder: tuple[str, ...]
) -> tuple[str, ...]:
    """Return a command typed in another way: a value, an option, one too many, one too few, another file.

    Parameters
    ----------
    words : tuple of str
        As they should be; the first names the command.
    all_words : tuple of str
        Of all commands.
    folder : tuple of str
        Names of files that are there.
    """
    new = list(words)
    if len(new) < 2:
        return (*words, rng.choice(all_words))
    places = (
        *folder,
        *(".", "nowhere/x.toml", "none.toml", "n" * 300, "taken", "taken/x.csv", "b.txt", "/dev/null/x", ""),
    )
    options = [word for word in all_words if word.startswith("--")]
    at, kind = rng.randrange(1, len(new)), rng.randrange(12)
    if kind <= 5:
        at = rng.choice([i for i in range(1, len(new)) if not new[i].startswith("--")] or [at])
        new[at] = typed(rng, new[at]) if rng.random() < 0.8 else rng.choice(places)
    elif kind == 6:
        del new[at]
    elif kind == 7:
        new.insert(at, new[at])
    elif kind == 8:
        new[at] = _letters(rng, new[at])
    elif kind == 9:
        new += [rng.choice(options), rng.choice((*places, *_TEXTS))]
    elif kind == 10:
        new.append(
            rng.choice(("--help", "--quiet", "--json", "--force", "-x", "--", "extra", "--out", "", "\udcff"))
        )
    else:
        new[0] = rng.choice(
            (_letters(rng, new[0]), new[0].upper(), rng.choice([w for w in all_words if w.isalpha()]))
        )
    return tuple(word.replace("\x00", "") for word in new)  # no shell can pass that on
