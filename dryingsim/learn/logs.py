"""Batch files and logs put together: which log is of which batch, and what is thought of it before."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from dryingsim.batch.learned import appliance_name
from dryingsim.batch.reading.batch_file import load_batch, load_document, parse_document
from dryingsim.batch.reading.learned_file import without_learned
from dryingsim.batch.reading.weigh_in_file import read_weigh_ins
from dryingsim.batch.reading.weigh_in_log import WeighInLog
from dryingsim.batch.schema import Batch, Learned
from dryingsim.batch.uncertainties import uncertainties_of
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.errors import InputError
from dryingsim.kitchen.loads import loads_of
from dryingsim.learn.parameters import Priors, priors_of
from dryingsim.learn.problem import LoggedBatch, logged_batch_of


@dataclass(frozen=True)
class Described:
    """A batch file: the batch without learned values, its uncertainties, and what it has learned.

    Where the trays do not hold the batch it is one load, as a log is of one.
    """

    batch: Batch
    uncertainties: dict[str, Uncertainty]
    learned: Learned | None


def described(path: Path) -> Described:
    """Read a batch file, keeping apart what it has learned."""
    meant = load_batch(path)  # whatever is wrong with the file is told as ever
    document = load_document(path)
    plain = parse_document(without_learned(document), str(path), path.parent)
    return Described(loads_of(plain).one, uncertainties_of(plain), meant.learned)


def put_together(file: Path, logs: Sequence[Path]) -> tuple[list[LoggedBatch], Priors, tuple[str, ...]]:
    """Read a batch file and logs of it; a log that names another batch file (`# batch: FILE.toml`) is of that one.

    Parameters
    ----------
    file : Path
        The batch file.
    logs : sequence of Path
        Weigh-in logs, all of one appliance.

    Returns
    -------
    tuple
        The logged batches, the priors, and what a person should know of them.
    """
    main = described(file)
    logged_batches, notes = [], []
    seen: dict[Path, Described] = {file.resolve(): main}
    for path in logs:
        log = read_weigh_ins(path)
        own = file if log.batch_file is None else path.parent / log.batch_file
        if own.resolve() not in seen:
            if not own.exists():
                raise InputError(
                    f"{log.name}: it is of the batch '{log.batch_file}', but there is no such file in {path.parent}"
                )
            seen[own.resolve()] = described(own)
        batch = seen[own.resolve()].batch
        if appliance_name(batch) != appliance_name(main.batch):
            raise InputError(
                f"{log.name}: dried in: {appliance_name(batch)}; {file.name} dries in: {appliance_name(main.batch)}. "
                "Logs are put together of one appliance only"
            )
        logged_batches.append(logged_batch_of(batch, log))
        notes += [f"{log.name}, {remark}" for remark in log.remarks]
        if logged_batches[-1].stayed_in:
            notes.append(
                f"{log.name} weighs less than slices taken off as they are ready: all are taken to have stayed in, as "
                'take_off = "together" in [trays] says. Weigh those taken off with the others'
            )
        if logged_batches[-1].clocked.followed:
            notes.append(
                f"{log.name} goes on after the drying by the plan: what follows is taken to have begun on time"
            )
    learned = _learned_before(main, [logged.log for logged in logged_batches])
    if learned is not None:
        notes.append(
            f"what {file.name} has learned before (from {', '.join(learned.logs)}) was what was thought before"
        )
    elif main.learned is not None:
        notes.append(
            f"{file.name} has learned from one of these logs already: that was left aside, none counts twice"
        )
    return logged_batches, priors_of(main.batch, main.uncertainties, learned), tuple(notes)


def _learned_before(main: Described, logs: Sequence[WeighInLog]) -> Learned | None:
    if main.learned is None or any(log.name in main.learned.logs for log in logs):
        return None
    return main.learned
