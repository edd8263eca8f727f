"""A folder of batches and their logs as a history: what was predicted, what came, and what to do about it.

A log belongs to the batch file that it names (`# batch: FILE.toml`), or else to the one of its own name. Each is fitted
by itself, with the priors of the package: nothing that was learned before colours what a batch says.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path

import numpy as np

from dryingsim.batch.reading.batch_file import load_batch
from dryingsim.batch.reading.weigh_in_file import read_weigh_ins
from dryingsim.batch.reading.weigh_in_log import WeighInLog
from dryingsim.engine.executors import each
from dryingsim.errors import InputError, SolverError
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.judge.taking_off import held_weight
from dryingsim.kitchen.loads import loads_of
from dryingsim.learn.estimates import Estimate, estimates, misfits
from dryingsim.learn.forecast import Forecast, forecast
from dryingsim.learn.logs import described
from dryingsim.learn.outcomes import answers_to, sure_weight
from dryingsim.learn.parameters import priors_of
from dryingsim.learn.problem import logged_batch_of
from dryingsim.learn.support import fit_supported
from dryingsim.simulate import run

_NOTABLE = 0.1  # of the logarithm of the time: a prediction that is off by less is good
_SCATTER = 0.15  # likewise, from batch to batch: as much as two pieces of meat differ (parameters.BETWEEN)
_ENOUGH_WEIGHINGS = 3
_OFF_K = 2.0  # air that is farther off its setting is worth a turn of the dial


@dataclass(frozen=True)
class LogbookEntry:
    """One batch of the history.

    Attributes
    ----------
    log, batch : str
        Names of the files.
    date : str or None
    weighings, thermometer_in_air : int, bool
        How many there were, and whether the air was measured.
    with_learned : bool
        Whether the prediction used learned values.
    predicted_s : float or None
        Time until done by the batch file [s].
    found : Forecast
        When it was done, by its weights.
    reached : bool
        Whether it was still weighed then; if not, that is a forecast.
    taken_out : bool
        Whether the log says when it was taken out: that is its last weight.
    last_share, last_predicted_share : float
        Last weight of the whole batch over the first, as weighed and by the batch file; nan where it was not weighed.
    estimates : tuple of Estimate
    slips : int
        Readings left out.
    answers : tuple of str
        What to change next time for what people said of the meat.
    """

    log: str
    batch: str
    date: str | None
    weighings: int
    thermometer_in_air: bool
    with_learned: bool
    predicted_s: float | None
    found: Forecast
    reached: bool
    taken_out: bool
    last_share: float
    last_predicted_share: float
    estimates: tuple[Estimate, ...]
    slips: int
    answers: tuple[str, ...] = ()

    @property
    def ratio(self) -> float | None:
        """Time it took over time predicted."""
        if self.predicted_s is None or self.found.done_s is None:
            return None
        return self.found.done_s / self.predicted_s


@dataclass(frozen=True)
class Logbook:
    """A folder's history, oldest first, and what could not be read.

    Attributes
    ----------
    entries : tuple[LogbookEntry, ...]
        Batches that were read, the oldest first.
    left_aside : tuple[str, ...]
        Why others were not.
    answers : tuple[str, ...]
        To what people said of the meat of logs that were left aside.
    """

    folder: Path
    entries: tuple[LogbookEntry, ...]
    left_aside: tuple[str, ...]
    answers: tuple[str, ...] = ()


def pairs_in(folder: Path) -> tuple[list[tuple[Path, Path]], list[str]]:
    """Return logs and their batch files, and what is left aside with the reason."""
    if not folder.is_dir():
        raise InputError(f"{folder}: a folder with batch files and logs is expected")
    pairs: list[tuple[Path, Path]] = []
    wrong: dict[str, str] = {}
    loggers: set[str] = set()
    for path in sorted(folder.glob("*.csv")):
        try:
            log = read_weigh_ins(path)
        except InputError as error:
            wrong[path.name] = str(error)
            continue
        loggers.update(named["logger"] for named in log.named_loggers)
        batch = folder / log.batch_file if log.batch_file else path.with_suffix(".toml")
        if batch.exists():
            pairs.append((batch, path))
        else:
            wrong[path.name] = (
                f"{path.name}: there is no {batch.name}; or name its batch in a line '# batch: FILE.toml' of the log"
            )
    aside = [text for name, text in wrong.items() if name not in loggers]
    if not pairs:
        logs = "log" if len(aside) == 2 else "logs"
        more = f"; and {len(aside) - 1} more {logs} of {folder} cannot be used" if len(aside) > 1 else ""
        alike = f"{folder}: no log with its batch file found; name both alike, as batch3.csv (weighings) beside batch3.toml"
        raise InputError(f"{aside[0]}{more}" if aside else alike)
    return pairs, aside


def entry_of(pair: tuple[Path, Path], units: str = "metric") -> LogbookEntry | str:
    """Fit one log by itself; a text where it cannot be used.

    Parameters
    ----------
    pair : tuple of Path
        The batch file and the log.
    units : str
        That what to change is told in, "metric" or "us".
    """
    file, path = pair
    try:
        log = read_weigh_ins(path)
        plain = described(file)
        logged = logged_batch_of(plain.batch, log)
        fitted = fit_supported([logged], priors_of(plain.batch, plain.uncertainties)).fit
        meant = run(loads_of(load_batch(file)).one)
    except (InputError, SolverError) as error:
        return str(error)
    done = forecast(fitted)
    dried = replace(meant, batch=replace(meant.batch, take_off=logged.batch.take_off))
    share, predicted = _last_shares(log, meant.time_s, held_weight(dried))
    return LogbookEntry(
        log=path.name,
        batch=file.name,
        date=log.date,
        weighings=len(log.of("weight")),
        thermometer_in_air=bool(log.of("air")),
        with_learned=plain.learned is not None,
        predicted_s=judge_batch(meant).doneness.batch.expected_s,
        found=done,
        reached=done.done_s is not None and done.done_s <= log.last_s,
        taken_out=log.taken_out is not None,
        last_share=share,
        last_predicted_share=predicted,
        estimates=tuple(estimates(fitted)),
        slips=len(misfits(fitted)),
        answers=_answers(meant, log, together=logged.stayed_in, units=units),
    )


def _answers(meant: History, log: WeighInLog, *, together: bool, units: str) -> tuple[str, ...]:
    """Answer what people said, by the batch as `run` tells of it: with what was learned."""
    sure_kg = sure_weight(meant, together=together or meant.batch.take_off == "together")
    return answers_to(meant.batch, log, sure_kg, units)


def _last_shares(log: WeighInLog, time_s: np.ndarray, weight_kg: np.ndarray) -> tuple[float, float]:
    whole = [reading for reading in log.of("weight") if reading.scope == "batch"]
    if len(whole) < 2:
        return np.nan, np.nan
    first, last = whole[0], whole[-1]
    predicted = np.interp([first.time_s, last.time_s], time_s, weight_kg)
    beyond = last.time_s > time_s[-1]
    return last.value / first.value, np.nan if beyond else float(predicted[1] / predicted[0])


def read_logbook(
    folder: Path,
    *,
    units: str = "metric",
    executor: Executor | Callable[[], Executor] | None = None,
    progress: Callable[[int, int], None] | None = None,
) -> Logbook:
    """Fit all logs of a folder.

    Parameters
    ----------
    folder : Path
    units : str
        That what to change is told in, "metric" or "us".
    executor : Executor, or a callable that makes one, optional
        See `engine.executors.each`.
    progress : callable, optional
        Called with the number of logs done, and of all.
    """
    pairs, aside = pairs_in(folder)
    done: dict[int, LogbookEntry | str] = {}
    for i, entry in each(partial(entry_of, units=units), pairs, executor):
        done[i] = entry
        if progress:
            progress(len(done), len(pairs))
    entries = [entry for _, entry in sorted(done.items()) if isinstance(entry, LogbookEntry)]
    unfitted = [(pairs[i], entry) for i, entry in sorted(done.items()) if isinstance(entry, str)]
    aside += [reason for _, reason in unfitted]
    answers = [answer for pair, _ in unfitted for answer in _answers_without_fit(pair, units)]
    if all(entry.date for entry in entries):
        entries.sort(key=lambda entry: entry.date or "")
    if not entries:
        said = "".join(f"; {answer}" for answer in answers)
        raise InputError(f"{folder}: none of the logs can be used ({aside[0]}){said}")
    return Logbook(folder, tuple(entries), tuple(aside), tuple(answers))


def _answers_without_fit(pair: tuple[Path, Path], units: str) -> tuple[str, ...]:
    """Answer what people said of a batch whose weights cannot be fitted: a complaint never goes unheard."""
    file, path = pair
    try:
        log = read_weigh_ins(path)
        meant = run(loads_of(load_batch(file)).one)
    except (InputError, SolverError):
        return ()
    return _answers(meant, log, together=False, units=units)


# --- what to change next time ----------------------------------------------------------------------------------------
def advice(book: Logbook, units: str = "metric") -> list[str]:
    """Return what to change next time, most important first.

    Parameters
    ----------
    book : Logbook
    units : str
        That temperatures are told in first, "metric" or "us".
    """
    complaints = [*(answer for entry in book.entries for answer in entry.answers), *book.answers]
    sentences = [
        *complaints,
        *_of_times(book.entries),
        *_of_air(book.entries, units),
        *_of_weighing(book.entries),
    ]
    return sentences or ["Nothing to change: the predictions hold."]


def _of_times(entries: Sequence[LogbookEntry]) -> list[str]:
    known = [(entry, entry.ratio) for entry in entries if entry.ratio is not None]
    if not known:
        return ["No batch of these gets done by its weights: plan more time, thinner slices or hotter air."]
    logs = np.log([ratio for _, ratio in known])
    mean = float(logs.mean())
    error = float(logs.std(ddof=1) / logs.size**0.5) if logs.size > 1 else _SCATTER
    percent, batches = 100.0 * (np.exp(mean) - 1.0), f"{logs.size} batch{'es' if logs.size > 1 else ''}"
    if abs(mean) > max(_NOTABLE, error):
        word = "longer" if mean > 0.0 else "less time"
        files = " ".join(entry.log for entry, _ in known)
        return [
            f"Your {batches} took {abs(percent):.0f} % {word} than predicted: let the next one know, with 'dryingsim learn "
            f'{known[-1][0].batch} {files} --out learned.toml\' and [learned] file = "learned.toml" in its file.'
        ]
    if logs.size > 1 and float(logs.std(ddof=1)) > _SCATTER:
        spread = 100.0 * float(logs.std(ddof=1))
        return [
            f"Predictions are right on average, but single batches differ by {spread:.0f} %: measure the slices with a "
            "ruler, and after the first hour weigh and ask 'dryingsim learn' again."
        ]
    return []


def _of_air(entries: Sequence[LogbookEntry], units: str) -> list[str]:
    rows = [row for entry in entries for row in entry.estimates if row.key == "setpoint" and row.determined]
    if not any(entry.thermometer_in_air for entry in entries):
        return [
            "Put a thermometer beside the slices and write down what it shows (a column 'air'): without it, meat that dries "
            "slowly cannot be told from air that is cooler than its setting."
        ]
    if not rows:
        return []
    offset = float(np.median([row.after[0] for row in rows]))
    if abs(offset) <= _OFF_K:
        return []
    word, way = ("cooler", "higher") if offset < 0.0 else ("hotter", "lower")
    kelvin, fahrenheit = f"{abs(offset):.0f} K", f"{1.8 * abs(offset):.0f} °F"
    off = f"{fahrenheit} ({kelvin})" if units == "us" else f"{kelvin} ({fahrenheit})"
    return [f"The air is about {off} {word} than its setting: turn it {way} by that."]


def _of_weighing(entries: Sequence[LogbookEntry]) -> list[str]:
    sentences = []
    few = [entry.log for entry in entries if entry.weighings < _ENOUGH_WEIGHINGS]
    if few:
        sentences.append(
            f"Weigh when the slices go in and at least twice more; too few weighings: {', '.join(few)}."
        )
    early = [entry for entry in entries if not entry.reached and entry.found.done_s is not None]
    stopped = [entry.log for entry in early if not entry.taken_out]
    if stopped:
        sentences.append(
            f"Weigh once more when you take the meat out; not weighed until done: {', '.join(stopped)}."
        )
    taken_out = [entry.log for entry in early if entry.taken_out]
    if taken_out:
        sentences.append(
            f"Taken out before it was done by its weights: {', '.join(taken_out)}. Dry the next longer."
        )
    slips = sum(entry.slips for entry in entries)
    if slips:
        sentences.append(
            f"{slips} reading{'s do' if slips > 1 else ' does'} not fit: read the scale twice, and tare it."
        )
    return sentences
