"""`dryingsim report`: a batch on one page of HTML."""

from pathlib import Path
from typing import TYPE_CHECKING

from dryingsim.cli.options import BatchOrDemo, Force, PageOut, PageQuiet, Remedies, Units, Workers
from dryingsim.cli.shared import (
    bar,
    batch_of,
    page_of,
    save,
    tell_demonstration,
    watched,
    worker_count,
)

if TYPE_CHECKING:
    from dryingsim.batch.appliance_description import Description


def report(
    file: BatchOrDemo = None,
    out: PageOut = None,
    units: Units = None,
    remedies: Remedies = False,
    workers: Workers = None,
    force: Force = False,
    quiet: PageQuiet = False,
) -> None:
    """Write a page to read, print or hand on: the answer, pictures, assumptions with sources, what moves the answer."""
    tell_demonstration(file)
    cores = worker_count(workers)
    batch = batch_of(file)
    target = page_of(file, out, (".html", ".htm"), force=force)

    from dryingsim.answer import Answer
    from dryingsim.engine.executors import processes
    from dryingsim.explore.changes import small_changes
    from dryingsim.judge.remedies import remedies as try_remedies
    from dryingsim.kitchen.loads import loads_of
    from dryingsim.show.report.document import write_report
    from dryingsim.simulate import run as simulate

    loads = loads_of(batch)
    with watched(loads.one) as tick:
        answer = Answer(simulate(loads.one, progress=tick), loads=loads)
    with bar(None, hidden=False, patience_s=0.0) as show:
        show(0.0, "simulating changes to the batch")
        changes = small_changes(loads.one, executor=processes(cores))
        tried = try_remedies(loads.one) if remedies else None
    told = _description(file) if file else None
    save(
        lambda: [write_report(answer, changes, target, units, tried, told)],
        announce=not quiet,
    )


def _description(file: Path) -> "Description | None":
    """Return the appliance as the batch file describes it, each number with its source."""
    from dryingsim.batch.reading.batch_file import load_document
    from dryingsim.show.report.sources import described

    return described(load_document(file), file.parent)
