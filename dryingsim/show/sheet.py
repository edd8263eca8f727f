"""The batch sheet to print: the plan, when to look, what to weigh, what to measure, and room to write it down.

Black on white, for a pencil. `sheet_blocks` says what stands on it; `sheet_pdf` draws it.
"""

import io
import textwrap
from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.batch.learned import dial_K
from dryingsim.batch.schema import Batch, Stage
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S, Answers, first_time_down_to
from dryingsim.judge.texture import HALF_HOUR_S, TextureWindow, half_hour_more, texture_window
from dryingsim.judge.verdict import HOME_ADVICE_K, judge_batch_lethality, judge_taken_out
from dryingsim.properties.moist_air import dew_point
from dryingsim.show.lethality_text import verdict_line
from dryingsim.show.quantities import Units, clock, spoken
from dryingsim.show.store_text import texture_sentences
from dryingsim.show.tables import CAUTION, SPREAD, clock_or_dash

PAPERS = {"metric": (595.3, 841.9), "us": (612.0, 792.0)}  # points: A4 and letter
_MARGIN, _FONT, _LEADING = 40.0, 8.5, 1.28  # points, points, -
_CHARACTER, _BOLD = (
    0.54,
    1.15,
)  # width of a letter over the size of the type, and of a bold one over it (estimate)
_BLANK_ROWS = 7
_COLD_K = 277.59  # 40 degF: the refrigerator of US food-safety advice (from memory)


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading within a page."""

    text: str


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text."""

    text: str


@dataclass(frozen=True, slots=True)
class Grid:
    """A ruled table; an empty cell is one to write in. `widths` are shares of the page."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...]
    tall: bool = False  # rows with room for handwriting


Block = Heading | Paragraph | Grid


def sheet_blocks(history: History, answers: Answers, units: str | None = None) -> list[Block]:
    """Return what stands on the sheet, from the top down.

    Parameters
    ----------
    history : History
    answers : Answers
        As `judge_batch` gives them.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    shown = Units(history, units)
    return [
        Heading("Plan"),
        _plan(history, shown),
        _stages(history, shown),
        Heading("Were bacteria killed?"),
        *_kill(history, shown),
        Heading("When to look, and what the whole batch should then weigh"),
        Paragraph(
            "Started at ____ : ____ h.  Times count from laying on. Weights are computed, of the meat without trays. "
            + SPREAD
        ),
        _looks(history, answers, shown),
        Heading("Target weights"),
        _trays(history, shown),
        Paragraph(
            "Or mark one slice of each thickness, weigh it with its marinade, and take it out at this share of that:"
        ),
        _slices(history, shown),
        Heading("Temperatures to check with a thermometer"),
        _temperatures(history, answers, shown),
        *_record(),
        Heading("Half an hour more?"),
        Paragraph(texture_sentences(history, answers, units)[-1]),
        Heading("Cautions"),
        Paragraph(CAUTION),
        Paragraph(
            f"Keep raw meat below {shown.temperature.text(_COLD_K)} until it goes in, wash hands and tools, and keep "
            "raw and dried meat apart. Let a slice cool before bending it: warm ones bend more. How long dried meat "
            "keeps depends on its water activity and its package: see 'dryingsim store'."
        ),
    ]


def _kill(history: History, shown: Units) -> list[Block]:
    """The verdict as computed: of meat taken out when done, and of the whole plan."""
    taken_out, whole = judge_taken_out(history), verdict_line(judge_batch_lethality(history), shown)
    if taken_out is None:
        return [Paragraph(whole)]
    done, early = taken_out
    return [
        Paragraph(f"Taken out when done, after {spoken(done)}: {verdict_line(early, shown)}"),
        Paragraph(f"Left in to the end of the plan, after {spoken(float(history.time_s[-1]))}: {whole}"),
    ]


def _record() -> list[Block]:
    """What a person fills in."""
    return [
        Heading("Record"),
        Grid(
            (
                "clock",
                "since start",
                "weight with trays",
                "air at the trays",
                "meat, thickest slice",
                "remarks",
            ),
            (("",) * 6,) * _BLANK_ROWS,
            (0.1, 0.12, 0.17, 0.17, 0.19, 0.25),
            tall=True,
        ),
        Heading("Finished"),
        Grid(
            (
                "raw weight",
                "finished weight",
                "bends, does not break?",
                "measured water activity",
                "taken off at",
            ),
            (("",) * 5,),
            (0.16, 0.18, 0.24, 0.26, 0.16),
            tall=True,
        ),
        Grid(
            ("packed in", "silica gel", "packed on", "kept where", "use by", "name"),
            (("",) * 6,),
            (0.22, 0.14, 0.16, 0.16, 0.16, 0.16),
            tall=True,
        ),
    ]


def _plan(history: History, shown: Units) -> Grid:
    batch = history.batch
    meat, marinade, told = batch.meat, batch.marinade, shown.length.text
    classes = ", ".join(f"{told(one.thickness_m)} ({100.0 * one.share:.0f} %)" for one in meat.classes)
    rate = 1e3
    taken = f"salt {rate * marinade.salt_kg_kg:.0f} g/kg, sugar {rate * marinade.sugar_kg_kg:.0f} g/kg"
    if marinade.water_kg_kg:
        taken += f", water {rate * marinade.water_kg_kg:.0f} g/kg"
    room = (
        f"{shown.temperature.text(batch.room.temperature_K)}, {100.0 * batch.room.relative_humidity:.0f} % RH"
    )
    appliance = "air as set below" if batch.appliance is None else batch.appliance.name
    trays = f"{int(history.tray.max()) + 1}, {batch.support}" if batch.appliance else batch.support
    return Grid(
        ("meat", "slices, raw", "raw weight", "taken up in the marinade", "room", "dried in", "trays"),
        (
            (
                f"{meat.name}, {meat.form}",
                f"{classes}; {told(meat.length_m)} x {told(meat.width_m)}",
                shown.weight.text(meat.weight_kg),
                taken,
                room,
                appliance,
                trays,
            ),
        ),
        (0.14, 0.22, 0.1, 0.19, 0.12, 0.13, 0.1),
    )


def _stages(history: History, shown: Units) -> Grid:
    rows = []
    begin = 0.0
    for stage, end in zip(history.batch.stages, history.stage_end_s, strict=True):
        rows.append(
            (
                stage.name,
                _setting(stage, history.batch, shown),
                clock(begin),
                f"{clock(float(end))}, {_ending(stage, shown)}",
                "",
            )
        )
        begin = float(end)
    return Grid(
        ("stage", "set to", "from h:min", "to h:min, as computed", "really from - to"),
        tuple(rows),
        (0.16, 0.3, 0.1, 0.28, 0.16),
    )


def _setting(stage: Stage, batch: Batch, shown: Units) -> str:
    air = stage.air
    told = shown.temperature.text
    text = told(dial_K(batch, air))
    if stage.air_end is not None:
        text += f" rising to {told(dial_K(batch, stage.air_end))}"
    kind, value = air.humidity.kind, air.humidity.value
    if kind == "relative":
        text += f", {100.0 * value:.0f} % RH"
    elif kind != "room":
        text += f", {kind.replace('_', ' ')} {told(value)}"
    door = batch.appliance.door if batch.appliance is not None else None
    gap = stage.door_gap_m if stage.door_gap_m is not None else door.gap_m if door is not None else 0.0
    if gap:
        text += f", door {shown.length.text(gap)} ajar"
    return text + (", slices turned first" if stage.turn else "")


def _ending(stage: Stage, shown: Units) -> str:
    until = stage.until
    if until is None:
        return "by the clock"
    if until.water_activity is not None:
        return f"water activity {until.water_activity:.2f}"
    if until.weight_loss is not None:
        return f"weight loss {100.0 * until.weight_loss:.0f} %"
    return f"core {shown.temperature.text(until.core_temperature_K or 0.0)}"


def _looks(history: History, answers: Answers, shown: Units) -> Grid:
    done, end = answers.doneness, float(history.time_s[-1])
    looks = [(end, "end of the plan")]
    if end > 1.2 * HOUR_S:
        looks.append((HOUR_S, "temperatures of air and meat"))
    for time, text in (
        (done.first_look_s, "first look: bend a cooled thin slice"),
        (done.batch.earliest_s, "done at the earliest: bend a cooled thick slice"),
        (done.batch.expected_s, "done as computed"),
        (done.batch.latest_s, "done at the latest"),
    ):
        if time is not None:
            looks.append((time, text))
    total = history.weight_kg.sum(axis=1)
    weights = {time: shown.weight.text(float(np.interp(time, history.time_s, total))) for time, _ in looks}
    if done.batch.expected_s is not None:
        more = half_hour_more(history, done.batch.expected_s)
        later = more.at_s + HALF_HOUR_S
        looks.append((later, "if not: half an hour more, and look again"))
        weights[later] = shown.weight.text(more.weight_kg[1])
    by_minute: dict[str, list[str]] = {}
    for time, text in sorted(looks):
        by_minute.setdefault(clock(time), [weights[time]]).append(text)
    rows = [(minute, "; ".join(told[1:]), told[0], "", "") for minute, told in by_minute.items()]
    return Grid(
        ("h:min", "what for", "should weigh", "weighs", "clock, remarks"),
        tuple(rows),
        (0.09, 0.41, 0.14, 0.14, 0.22),
    )


def _trays(history: History, shown: Units) -> Grid:
    rows, several = [], int(history.tray.max()) > 0
    for tray, texture in enumerate(texture_window(history).trays):
        slabs = history.tray == tray
        weight = history.weight_kg[:, slabs].sum(axis=1)
        activity = history.equalised_water_activity[:, slabs].max(axis=1)
        when = first_time_down_to(history.time_s, activity, history.batch.targets.water_activity)
        goal = "-" if when is None else shown.weight.text(float(np.interp(when, history.time_s, weight)))
        rows.append(
            (
                f"tray {tray + 1}" if several else "all",
                shown.weight.text(float(weight[0])),
                "",
                goal,
                "",
                clock_or_dash(when),
                _bends(texture),
            )
        )
    heads = (
        "",
        "meat laid on",
        "empty weighs",
        "meat when done",
        "both, when done",
        "done at",
        "bends, as computed",
    )
    return Grid(heads, tuple(rows), (0.09, 0.12, 0.13, 0.14, 0.14, 0.1, 0.28))


def _bends(window: TextureWindow) -> str:
    """Say from when to when slices bend without breaking."""
    begin, end = window.pliable.expected_s, window.brittle.expected_s
    start = f"all from {clock(begin)}" if begin is not None else "not all yet at the end"
    return start if end is None else f"{start}; some break from {clock(end)}"


def _slices(history: History, shown: Units) -> Grid:
    target, rows = history.batch.targets.water_activity, []
    windows = texture_window(history).classes
    for number, (one, texture) in enumerate(zip(history.batch.meat.classes, windows, strict=True)):
        slabs = np.flatnonzero(history.kind == number)
        wettest = slabs[int(history.mean_moisture_db[-1, slabs].argmax())]
        activity = history.equalised_water_activity[:, wettest]
        when = first_time_down_to(history.time_s, activity, target)
        share = history.weight_kg[:, wettest] / history.weight_kg[0, wettest]
        goal = "-" if when is None else f"{100.0 * float(np.interp(when, history.time_s, share)):.0f} %"
        driest = slabs[int(history.mean_moisture_db[-1, slabs].argmin())]
        soonest = first_time_down_to(history.time_s, history.equalised_water_activity[:, driest], target)
        told = clock_or_dash(when)
        if driest != wettest and soonest is not None:  # trays differ
            told = f"{clock(soonest)} to {told if when is not None else 'later'}, by tray"
        rows.append((shown.length.text(one.thickness_m), goal, told, "", "", _bends(texture)))
    return Grid(
        ("slices", "share, done", "done at", "one weighs before", "take it out at", "bends, as computed"),
        tuple(rows),
        (0.09, 0.11, 0.2, 0.16, 0.16, 0.28),
    )


def _temperatures(history: History, answers: Answers, shown: Units) -> Grid:
    told, heat = shown.temperature.text, answers.heating
    boiling = float(dew_point(history.batch.room.pressure_Pa))  # where the vapour pressure is that of the air
    asked = HOME_ADVICE_K[history.batch.meat.species]
    coldest = history.temperature_K.min(axis=(1, 2))
    hot = np.flatnonzero(coldest >= asked)
    late = (
        f"only after {spoken(float(history.time_s[hot[0]]))} of drying" if hot.size else "not in this drying"
    )
    rows = [
        (
            "thermometer in melting ice, and in boiling water here",
            f"{told(ZERO_CELSIUS)} and {told(boiling)}",
            "",
        ),
        (
            "meat in all its parts before drying starts, by home advice",
            f"{told(asked)} (computed: {late})",
            "",
        ),
    ]
    for stage, end in zip(history.batch.stages, history.stage_end_s, strict=True):
        at_end = history.air_temperature_K[int(np.abs(history.time_s - end).argmin())]
        ends = dict.fromkeys(map(told, (float(at_end.min()), float(at_end.max()))))
        rows.append((f"air at the trays, end of stage '{stage.name}' (computed)", " to ".join(ends), ""))
    if heat.first_hour_K is not None:
        rows.append(("coldest slice after the first hour (computed)", told(heat.first_hour_K), ""))
    rows.append((f"coldest slice at its hottest (computed, {clock(heat.peak_s)})", told(heat.peak_K), ""))
    return Grid(("what", "should be", "is"), tuple(rows), (0.5, 0.3, 0.2))


def sheet_pdf(history: History, answers: Answers, units: str | None = None) -> bytes:
    """Return the sheet as a PDF, the same bytes for the same run.

    Parameters
    ----------
    history : History
    answers : Answers
    units : str, optional
        "metric" (on A4) or "us" (on letter paper); as the batch file says if left out.
    """
    from matplotlib.backends.backend_pdf import PdfPages

    from dryingsim.show.style import own_settings

    chosen, title = units or history.batch.display, history.batch.name
    content, book = sheet_blocks(history, answers, chosen), io.BytesIO()
    # text that can be searched; the fonts every reader has need no embedding, which takes a second, but have no other letters.
    with own_settings(**{"pdf.fonttype": 42, "pdf.use14corefonts": _is_western(content, title)}):
        pages = _filled(content, PAPERS[chosen], title)
        with PdfPages(book, metadata={"CreationDate": None, "Title": title}) as drawn:
            for number, page in enumerate(pages, start=1):
                page.foot(f"page {number} of {len(pages)}")
                drawn.savefig(page.figure)
    return book.getvalue()


def _is_western(content: list[Block], title: str) -> bool:
    try:
        f"{title}{content}".encode("cp1252")
    except UnicodeEncodeError:
        return False
    return True


def _filled(blocks: list[Block], paper: tuple[float, float], title: str) -> "list[_Page]":
    """Set the blocks on pages; one that does not fit begins another, and no heading stands alone at the foot."""
    pages = [_Page(paper, title)]
    for number, block in enumerate(blocks):
        needed = pages[-1].height_of(block)
        if isinstance(block, Heading):
            needed += pages[-1].height_of(blocks[number + 1])
        if pages[-1].below - needed < _MARGIN and not pages[-1].empty:
            pages.append(_Page(paper, title))
        pages[-1].add(block)
    return pages


class _Page:
    """A page that is filled from the top down, in points."""

    def __init__(self, paper: tuple[float, float], title: str) -> None:
        import matplotlib
        from matplotlib.figure import Figure

        self.width, self.height = paper
        self.full = self.width - 2.0 * _MARGIN
        self.plain = "medium" if matplotlib.rcParams["pdf.use14corefonts"] else "normal"  # what each font has
        self.figure: Figure = Figure(figsize=(self.width / 72.0, self.height / 72.0))
        self.below = self.height - _MARGIN
        self.empty = True
        self._write(_MARGIN, self.below, textwrap.shorten(title, 56), size=13.0, weight="bold")
        self._write(self.width - _MARGIN, self.below, "date ____________", ha="right")
        self.below -= 24.0

    def foot(self, text: str) -> None:
        """Write the last line."""
        said = f"{text}. Times and weights are computed by dryingsim; temperatures are to be measured."
        self._write(_MARGIN, 30.0, said, size=7.0)

    def height_of(self, block: Block) -> float:
        """Height a block takes [points]."""
        if isinstance(block, Heading):
            return 20.0
        if isinstance(block, Paragraph):
            return len(_broken(block.text, self.full)) * _FONT * _LEADING + 4.0
        return sum(high for _, high in self._rows(block)) + 9.0

    def add(self, block: Block) -> None:
        """Set a block below those that stand there."""
        self.empty = False
        if isinstance(block, Heading):
            self._write(_MARGIN, self.below - 5.0, block.text, size=10.0, weight="bold")
        elif isinstance(block, Paragraph):
            self._lines(_MARGIN, self.below, _broken(block.text, self.full))
        else:
            self._grid(block)
        self.below -= self.height_of(block)

    def _edges(self, grid: Grid) -> np.ndarray:
        return _MARGIN + self.full * np.concatenate([[0.0], np.cumsum(grid.widths) / sum(grid.widths)])

    def _rows(self, grid: Grid) -> list[tuple[list[list[str]], float]]:
        """Lines of each cell, and the height of the row."""
        found, widths = [], np.diff(self._edges(grid)) - 6.0
        for number, row in enumerate((grid.heads, *grid.rows)):
            wider = 1.0 if number else _BOLD
            cells = [_broken(cell, width / wider) for cell, width in zip(row, widths, strict=True)]
            least = 15.0 if number == 0 else 22.0 if grid.tall else 17.0
            found.append((cells, max(max(map(len, cells)) * _FONT * _LEADING + 5.0, least)))
        return found

    def _grid(self, grid: Grid) -> None:
        edges, top = self._edges(grid), self.below + 3.0
        left, right, level = float(edges[0]), float(edges[-1]), self.below + 3.0
        for number, (cells, high) in enumerate(self._rows(grid)):
            if number == 0:
                self._shade(left, level - high, right - left, high)
            for lines, edge in zip(cells, edges, strict=False):
                self._lines(float(edge) + 3.0, level - 4.0, lines, weight="normal" if number else "bold")
            self._rule((left, right), (level, level))
            level -= high
        self._rule((left, right), (level, level))
        for edge in edges:
            self._rule((float(edge), float(edge)), (top, level))

    def _lines(self, x: float, y: float, lines: list[str], **style: Any) -> None:
        for number, line in enumerate(lines):
            self._write(x, y - number * _FONT * _LEADING, line, **style)

    def _write(
        self, x: float, y: float, text: str, size: float = _FONT, weight: str = "normal", **style: Any
    ) -> None:
        if text:  # parse_math: a dollar sign is a dollar sign
            place = x / self.width, (y - 0.8 * size) / self.height
            heavy = weight if weight == "bold" else self.plain
            self.figure.text(*place, text, fontsize=size, fontweight=heavy, parse_math=False, **style)

    def _rule(self, x: tuple[float, float], y: tuple[float, float]) -> None:
        from matplotlib.lines import Line2D

        across, up = [one / self.width for one in x], [one / self.height for one in y]
        self.figure.add_artist(Line2D(across, up, color="black", linewidth=0.5))

    def _shade(self, x: float, y: float, width: float, height: float) -> None:
        from matplotlib.patches import Rectangle

        corner, size = (x / self.width, y / self.height), (width / self.width, height / self.height)
        self.figure.add_artist(Rectangle(corner, *size, facecolor="0.92", edgecolor="none"))


def _broken(text: str, width: float) -> list[str]:
    """Break a text into lines of about a width in points."""
    return textwrap.wrap(text, max(int(width / (_FONT * _CHARACTER)), 4)) or [""]
