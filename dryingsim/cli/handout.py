"""`dryingsim handout`: a batch as one page with sliders, for a class to play with."""

import typer

from dryingsim.cli.options import BatchOrDemo, Force, PageOut, PageQuiet, Units, Workers
from dryingsim.cli.shared import bar, batch_of, page_of, save, tell_demonstration, worker_count

_WELL = 0.02  # what the time until ready and the profiles may be off between the points of the grid


def handout(
    file: BatchOrDemo = None,
    out: PageOut = None,
    units: Units = None,
    workers: Workers = None,
    force: Force = False,
    quiet: PageQuiet = False,
) -> None:
    """Write a page with sliders to hand out to a class: one file that works on any telephone, without a network.

    It slides thickness, air temperature, humidity, air speed and time. The meat, its marinade and what comes before drying stay
    as in the file.
    """
    tell_demonstration(file)
    cores = worker_count(workers)
    whole = batch_of(file)
    target = page_of(file, out, (".html", ".htm"), force=force, kind="-handout")

    from dryingsim.answer import Answer
    from dryingsim.engine.executors import processes
    from dryingsim.explore.settings import at_start
    from dryingsim.explore.slider_errors import errors_of, leave_out
    from dryingsim.explore.slider_grid import slider_grid
    from dryingsim.kitchen.loads import loads_of
    from dryingsim.show.handout.page import write_handout
    from dryingsim.simulate import run as simulate

    executor, batch = processes(cores), loads_of(whole).one
    with bar(None, hidden=False, patience_s=0.0) as show:
        show(0.0, "simulating all settings")
        grid = slider_grid(batch, executor)
        show(0.0, "measuring how well the page tells what lies between")
        errors = errors_of(grid, leave_out(grid, executor))
        answer = Answer(simulate(at_start(batch, grid.axes)))
    if max(errors.ready, errors.profile) > _WELL:
        typer.echo(
            f"Note: between its points the page is off by up to {100.0 * max(errors.ready, errors.profile):.1f} %; it says so.",
            err=True,
        )
    if errors.bolder:
        typer.echo(
            f"Note: {errors.bolder} of the verdicts tried were better than those of the simulation; the page says so.",
            err=True,
        )
    save(lambda: [write_handout(grid, errors, answer, target, units)], announce=not quiet)
