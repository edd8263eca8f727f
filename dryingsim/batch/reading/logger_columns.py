"""Which column of a logger's file is of what: by the words of its heading, or as said with `--columns`.

Where the words leave two readings open, that is asked, never guessed: a temperature of meat or of air, two probes that are
both in meat, degrees without a scale. What is said wins over the words: `meat=CH1, wet_bulb=CH3 [degF]`, by heading or number.
"""

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from dryingsim.batch.checks import hint, show
from dryingsim.batch.reading.logger_table import LoggerTable, no_reading
from dryingsim.batch.reading.typed_columns import by_word, reader, with_point
from dryingsim.errors import InputError

QUANTITIES = ("meat", "air", "wet_bulb", "dew_point", "relative_humidity", "water_activity")
_SAID = by_word(
    {
        "meat": "meat temperature core probe",
        "air": "air dry_bulb",
        "wet_bulb": "wet_bulb",
        "dew_point": "dew_point",
        "relative_humidity": "relative_humidity rh humidity",
        "water_activity": "water_activity aw a_w",
        "time": "time clock elapsed",
        "date": "date",
    }
)
# words of a heading, the first line that fits decides; "other" is never read
_WORDS: tuple[tuple[str, str], ...] = (
    ("other", r"\broom\b|kitchen|outdoor|batter|volt|\bset\b|set ?point|target|alarm|limit|\bmin\b|\bmax\b|minimum|maximum|"
              r"average|\bavg\b|absolute|\bg/|\bppm\b|mixing|pressure|\bweight\b|\bmass\b"),
    ("wet_bulb", r"wet ?bulb|\bt ?wb\b|\bwb\b|\btwet\b"),
    ("dew_point", r"\bdew|\btdp\b"),
    ("water_activity", r"water activity|\ba ?w\b"),
    ("relative_humidity", r"humid|\brh\b|\br\.h\.?|^%$"),
)  # fmt: skip
_MEAT = re.compile(
    r"\bmeat|\bcore\b|\binternal\b|\bproduct\b|\bslices?\b|\bfood\b|\bbeef\b|\bpork\b|\bturkey\b|\bvenison\b"
)
_AIR = re.compile(r"\bair\b|ambient|chamber|cabinet|\boven\b|dry ?bulb|dehydrator|\bdryer\b|smokehouse")
_ANY = re.compile(r"temp|\bprobe|\bsensor|\bch(?:annel)? ?\d|\bt ?\d|\btc ?\d|thermocouple|\binput ?\d")
_SCALE = re.compile(
    r"[°ºø¡℃℉]\s*([CF])?|(?<![a-z])deg(?:rees?)?\.?[ _]*([CF])|(?<![a-z])(?:(c)elsius|(f)ahrenheit)|"
    r"[\[(]\s*([CFK])\s*[\])]|[ _,/;|]([CF])$",
    re.IGNORECASE,
)
_CELL = re.compile(r"([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(.*)")
_LIMITS = {
    "meat": ("-20 degC", "150 degC"),
    "air": ("-20 degC", "150 degC"),
    "wet_bulb": ("-20 degC", "110 degC"),
    "dew_point": ("-60 degC", "110 degC"),
}
# numbers that instruments write where no probe is plugged in or its range is left; common practice, no source
_BROKEN = frozenset((999.0, 999.9, 9999.0, 9999.9, 32767.0, 32768.0, 3276.7, 3276.8, 6553.5, 127.0))


@dataclass(frozen=True, slots=True)
class LoggerColumn:
    """A column that is read: which, its heading, and its unit (`degC`, `degF`, `K`, `%`, `-`).

    Attributes
    ----------
    index : int
        From 0.
    """

    index: int
    heading: str
    unit: str


@dataclass(slots=True)
class Values:
    """Readings of a column in SI, nan where there are none; and the texts that stood for none, with their number.

    Attributes
    ----------
    si : list[float]
        In SI.
    marks : dict[str, int]
        How often each such text stands there.
    """

    si: list[float] = field(default_factory=list)
    marks: dict[str, int] = field(default_factory=dict)


def said_columns(typed: str | None) -> dict[str, str]:
    """Return what was said of columns: the heading or number for each quantity.

    Examples
    --------
    >>> said_columns("meat=CH1, wet_bulb=CH3 [degF]")
    {'meat': 'CH1', 'wet_bulb': 'CH3 [degF]'}
    """
    said: dict[str, str] = {}
    for part in re.split(r",\s*(?=[A-Za-z_ -]+=)", typed or ""):
        if not part.strip():
            continue
        word, _, column = (text.strip() for text in part.partition("="))
        known = _SAID.get(word.lower().replace(" ", "_").replace("-", "_"))
        if known is None:
            raise InputError(
                f"--columns: {show(word)} is nothing a logger measures{hint(word, _SAID) or ';'} known: "
                f"{', '.join(dict.fromkeys(_SAID.values()))}"
            )
        if not column:
            raise InputError(f"--columns: which column is {known}? Write for example {known}=CH1")
        if known in said:
            raise InputError(f"--columns: {known} stands twice")
        said[known] = column
    return said


def column_named(table: LoggerTable, said: str) -> tuple[int, str]:
    """Return the column that was meant by a heading or number, and the unit said with it (or nothing).

    Parameters
    ----------
    table : LoggerTable
    said : str
        Its heading, a part of that, or its number; a unit may follow in brackets.
    """
    match = re.fullmatch(r"(.*?)\s*\[([^\]]*)\]", said)
    choices = [(said, "")] + ([(match[1], match[2])] if match else [])
    for name, unit in choices:
        plain = _plain(name)
        for fits in (
            lambda heading, plain=plain: _plain(heading) == plain,
            lambda heading, plain=plain: (
                re.search(rf"(?<!\w){re.escape(plain)}(?!\w)", _plain(heading)) is not None
            ),
        ):
            at = [i for i, heading in enumerate(table.headings) if plain and fits(heading)]
            if len(at) == 1:
                return at[0], unit
            if len(at) > 1:
                raise InputError(
                    f"--columns: {show(name)} may be {_either(table, at)} of {table.name}; write its whole heading or number"
                )
        if plain.isdigit() and 1 <= int(plain) <= len(table.headings):
            return int(plain) - 1, unit
    guess = hint(choices[-1][0], table.headings) or ";"
    raise InputError(
        f"--columns: {table.name} has no column {show(choices[-1][0])}{guess} its columns: {table.listed}"
    )


def chosen_columns(
    table: LoggerTable, said: Mapping[str, str], taken: Sequence[int], *, of_meat: bool = True
) -> tuple[dict[str, LoggerColumn], list[str]]:
    """Return the column of each quantity, and the headings that were not read.

    Parameters
    ----------
    table : LoggerTable
    said : mapping
        As from `said_columns`.
    taken : sequence of int
        Columns of time.
    of_meat : bool
        Whether one of them has to be of meat.
    """
    picked: dict[str, tuple[int, str]] = {
        quantity: column_named(table, said[quantity]) for quantity in QUANTITIES if quantity in said
    }
    columns = [index for index, _ in picked.values()]
    twice = next((index for index in columns if columns.count(index) > 1 or index in taken), None)
    if twice is not None:
        raise InputError(f"--columns: column {show(table.headings[twice])} cannot be two things at once")
    free = [
        i
        for i in range(len(table.headings))
        if i not in taken and i not in columns and any(map(_CELL.match, table.column(i)))
    ]
    kinds = {i: kind_of_heading(table.headings[i]) for i in free}
    for quantity in QUANTITIES:
        at = [i for i in free if kinds[i] == quantity]
        if quantity in picked or not at:
            continue
        if len(at) > 1:
            raise _two_alike(table, quantity, at)
        picked[quantity] = at[0], ""
    open_columns = [i for i in free if kinds[i] in ("any", "both")]
    if of_meat or open_columns:
        picked |= _settled(table, picked, open_columns, kinds)
    chosen = {
        quantity: LoggerColumn(index, table.headings[index], _unit(table, index, quantity, unit))
        for quantity, (index, unit) in picked.items()
    }
    read = [index for index, _ in picked.values()]
    return chosen, [table.headings[i] for i in range(len(table.headings)) if i not in read and i not in taken]


def kind_of_heading(heading: str) -> str:
    """Return the quantity a heading names; `any` temperature, `both` of meat and air, `other`.

    Examples
    --------
    >>> [kind_of_heading(text) for text in ("MeatTemp(°F)", "Chamber RH", "CH 2", "Set temp")]
    ['meat', 'relative_humidity', 'any', 'other']
    """
    words = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", heading).replace("_", " ").replace("-", " ").lower()
    for kind, pattern in _WORDS:
        if re.search(pattern, words):
            return kind
    meat, air = _MEAT.search(words), _AIR.search(words)
    if meat and air:
        return "both"
    if meat or air:
        return "meat" if meat else "air"
    if "humidity" in words or re.search(r"%\s*r", words):
        return "relative_humidity"
    return "any" if _ANY.search(words) or scale_of(heading) else "other"


def _settled(
    table: LoggerTable, picked: Mapping[str, object], unsettled: list[int], kinds: Mapping[int, str]
) -> dict[str, tuple[int, str]]:
    """Return what a temperature without a name is where only one thing is possible, or ask."""
    humid = [quantity for quantity in ("relative_humidity", "wet_bulb", "dew_point") if quantity in picked]
    if not unsettled:
        if "meat" not in picked:
            raise InputError(
                f"{table.name}: no column is of meat among {table.listed}; say which, for example --columns meat=CH1"
            )
        return {}
    if "meat" in picked:
        needs_air = "air" not in picked and any(quantity in humid for quantity in ("wet_bulb", "dew_point"))
        if not needs_air:
            return {}
        raise InputError(
            f"{table.name}: {_either(table, unsettled)}: of the air beside the wet bulb or dew point, or of something else? "
            f"Add --columns {show(f'air={table.headings[unsettled[0]]}')[1:-1]}"
        )
    sure = len(unsettled) == 1 and kinds[unsettled[0]] == "any"
    if sure and ("air" in picked or not humid):  # the command is for the meat's log
        return {"meat": (unsettled[0], "")}
    first = table.headings[unsettled[0]]
    if len(unsettled) == 1:
        raise InputError(
            f"{table.name}: column {show(first)}: a temperature of the meat or of the air? Add --columns 'meat={first}' or "
            f"--columns 'air={first}'"
        )
    second = table.headings[unsettled[1]]
    raise InputError(
        f"{table.name}: {_either(table, unsettled)}: which is of the meat, which of the air? Add --columns "
        f"'meat={first},air={second}' or the other way round"
    )


def _two_alike(table: LoggerTable, quantity: str, at: list[int]) -> InputError:
    words = quantity.replace("_", " ")
    each = "; each probe is judged by itself" if quantity == "meat" else ""
    return InputError(
        f"{table.name}: {_either(table, at)}: both may be of {words}{each}. Add "
        f"--columns '{quantity}={table.headings[at[0]]}' or '{quantity}={table.headings[at[1]]}'"
    )


def _either(table: LoggerTable, at: Sequence[int]) -> str:
    return " or ".join(f"column {show(table.headings[i])}" for i in at[:4])


def _plain(text: str) -> str:
    return " ".join(text.lower().split())


# --- units -----------------------------------------------------------------------------------------------------------
def scale_of(text: str) -> str:
    """Return the scale of temperature that a text names, `degC`, `degF`, `K`; nothing where it names none or two."""
    found = {next((each for each in match.groups() if each), "").upper() for match in _SCALE.finditer(text)}
    found |= {"C"} if "℃" in text else set()
    found |= {"F"} if "℉" in text else set()
    found.discard("")
    if len(found) != 1:
        return ""
    letter = found.pop()
    return letter if letter == "K" else f"deg{letter}"


def _unit(table: LoggerTable, index: int, quantity: str, said: str) -> str:
    """Return the unit of a column, as said, as its heading has it or its cells or a title; or ask."""
    heading = table.headings[index]
    if quantity not in _LIMITS:
        return _unit_of_fraction(table, index, quantity, said)
    if said:
        named = scale_of(f"[{said}]") or scale_of(said)
        if not named:
            raise InputError(
                f"--columns: {quantity}={heading} [{said}]: degC, degF or K is expected in the brackets"
            )
        return named
    titles = [title for title in table.titles if re.search("unit|temp|scale", title, re.IGNORECASE)]
    cells = [f" {match[2]}" for cell in table.column(index) if (match := _CELL.fullmatch(cell))]
    for texts in ([heading], cells, titles, table.headings):
        scales = {scale_of(text) for text in texts} - {""}
        if len(scales) == 1:
            return scales.pop()
        if scales:
            break
    raise InputError(
        f"{table.name}: column {show(heading)}: in degC or degF? Add --columns '{quantity}={heading} [degC]' or "
        f"'{quantity}={heading} [degF]'"
    )


def _unit_of_fraction(table: LoggerTable, index: int, quantity: str, said: str) -> str:
    heading = table.headings[index]
    if said not in ("", "%", "-"):
        raise InputError(f"--columns: {quantity}={heading} [{said}]: % or - is expected in the brackets")
    if said:
        return said
    if quantity == "water_activity":
        return "-"
    numbers = [
        float(match[1].replace(",", ".")) for cell in table.column(index) if (match := _CELL.fullmatch(cell))
    ]
    if "%" in heading or any("%" in cell for cell in table.column(index)):
        return "%"
    if max(numbers, default=0.0) > 1.5:
        return "%"
    raise InputError(
        f"{table.name}: column {show(heading)}: percent, or a ratio of 0 to 1? Add --columns '{quantity}={heading} [%]' or "
        f"'{quantity}={heading} [-]'"
    )


# --- cells -----------------------------------------------------------------------------------------------------------
def values_of(table: LoggerTable, column: LoggerColumn, quantity: str) -> Values:
    """Return the readings of a column in SI.

    Parameters
    ----------
    table : LoggerTable
    column : LoggerColumn
    quantity : str
        One of `QUANTITIES`: what its limits are.
    """
    values = Values()
    readers: dict[str, object] = {}
    for line, cells in table.rows:
        text = cells[column.index]
        match = _CELL.fullmatch(text)
        if match is None and no_reading(text):
            mark = text or "empty"
            values.marks[mark] = values.marks.get(mark, 0) + 1
            values.si.append(math.nan)
            continue
        where = f"{table.name} line {line}, {column.heading}"
        if match is None:
            raise InputError(
                f"{where} = {show(text)}: a number is expected, or a mark for no reading such as ---"
            )
        number, unit = (
            float(with_point("0" + match[1]) if match[1][0] in ",." else match[1].replace(",", ".")),
            match[2],
        )
        if abs(number) in _BROKEN and (number < 0.0 or number > 200.0):
            values.marks[text] = values.marks.get(text, 0) + 1
            values.si.append(math.nan)
            continue
        values.si.append(
            _in_si(where, text, number, _own_unit(where, text, unit, column.unit), quantity, readers)
        )
    return values


def _own_unit(where: str, text: str, typed: str, unit: str) -> str:
    """Return the unit of a cell: its own where it has one, else that of its column."""
    if not typed:
        return unit
    if unit in ("%", "-"):
        own = "%" if re.fullmatch(r"%\s*(?:r\.?h\.?)?|r\.?h\.?\s*%?", typed, re.IGNORECASE) else ""
    else:
        own = scale_of(f" {typed}")
    if not own:
        raise InputError(f"{where} = {show(text)}: {show(typed)} behind the number is not understood")
    return own


def _in_si(
    where: str, text: str, number: float, unit: str, quantity: str, readers: dict[str, object]
) -> float:
    """Return a number of a cell in SI."""
    if quantity in _LIMITS:
        if unit not in readers:
            readers[unit] = reader(where, unit, "temperature", *_LIMITS[quantity])
        return readers[unit](where, f"{number!r}" if "e" not in f"{number!r}" else text)  # type: ignore[operator]
    value = number / 100.0 if unit == "%" else number
    if quantity == "relative_humidity" and 1.0 < value <= 1.05:  # sensors overshoot in saturated air
        return 1.0
    if not 0.0 <= value <= 1.0:
        raise InputError(f"{where} = {show(text)} is outside {'0 to 100 %' if unit == '%' else '0 to 1'}")
    return value
