"""From a batch file with its requirements to a plan: found, verified, and explained by what relaxing it would give."""

import math
from collections.abc import Callable, Mapping
from concurrent.futures import Executor
from contextlib import nullcontext
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

from dryingsim.answer import Answer
from dryingsim.batch.checks import check_seed
from dryingsim.batch.laying import of_one_thickness
from dryingsim.batch.reading.batch_file import parse_document
from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import INPUTS, uncertainties_of
from dryingsim.batch.uncertainty import Uncertainty
from dryingsim.engine.executors import each, processes
from dryingsim.errors import InputError
from dryingsim.explore.spread import spread
from dryingsim.explore.spread_result import Spread
from dryingsim.history import History
from dryingsim.judge.grades import GRADES, Grade
from dryingsim.judge.remedies import Remedy, RemedyName, remedies
from dryingsim.judge.verdict import judge_batch_lethality
from dryingsim.kitchen.loads import loads_of
from dryingsim.plan.heating import heated_document, heating_that_meets
from dryingsim.plan.needs import Needs
from dryingsim.plan.outcome import Plan, apart, share_in_window
from dryingsim.plan.relaxing import Relaxed, TradeOff, relaxed, trade_offs
from dryingsim.plan.requirements import Requirements, read_requirements
from dryingsim.plan.schedules import Values
from dryingsim.plan.search import Search
from dryingsim.plan.settings import Template, template_of
from dryingsim.plan.surrogate import slow_imports
from dryingsim.plan.trial import Many, Trial, judged, screened, target_of, tried, unevenness
from dryingsim.simulate import run

VERIFY_NODES, VERIFY_TOLERANCE = 32, 3e-5
SLICES, UNCERTAIN = 768, 512  # that check the share in the window; that show what all uncertainties do
KITCHENS = 64  # of those: of fewer a chance of one in twenty cannot be told
_SPARE_REDUCTION = 0.05
_VERIFICATIONS = 4
_EXPECTED = 240  # schedules, for the progress bar

_Result = TypeVar("_Result")


def plan(
    document: Mapping[str, Any],
    name: str,
    folder: Path | None = None,
    *,
    seed: int = 1,
    workers: int = 1,
    progress: Callable[[float, str], None] | None = None,
) -> Plan:
    """Find the settings of least cost that meet what is asked for; where no air does, with the slices heated first.

    Parameters
    ----------
    document : mapping
        A batch file as `tomllib` reads it; its [plan] says what may change.
    name : str
        What messages call it.
    folder : Path, optional
        Where files lie that it names.
    seed : int
        Of the points the search begins with. The same seed gives the same plan.
    workers : int
        Processes to work with.
    progress : callable, optional
        Called with the share of the work that is done, about, and what is going on.
    """
    check_seed("plan", seed)
    slow_imports()  # before there are workers: those that are forked have it then
    make = processes(workers)
    with make() if make else nullcontext() as pool:
        planner = _Planner.of(document, name, folder or Path(), seed, pool, progress)
        draft = planner.draft()
        if draft.met or (draft.grade == "met only if measured" and "reduction" not in draft.missed):
            return planner.finished(draft)
        tried = _changes(draft.planned)
        heating = heating_that_meets(tried, planner.requirements.reserve)
        heated = None if heating is None else _heated(planner, draft, document, heating)
        return heated or planner.finished(draft, tried)


def _heated(
    planner: "_Planner", draft: "_Draft", document: Mapping[str, Any], heating: RemedyName
) -> Plan | None:
    """Plan a file with heating put before its drying; None where that is judged no better than the draft without, or fails."""
    template = planner.template
    try:
        other = _Planner.of(
            heated_document(document, planner.batch, heating),
            template.name,
            template.folder,
            planner.seed,
            planner.pool,
            planner.progress,
        )
        other.done = planner.done
        heated = other.draft()
    except InputError:  # such as bounds within which nothing can be simulated any more
        return None
    if GRADES.index(heated.grade) <= GRADES.index(draft.grade) or "problem" in heated.missed:
        return None
    return replace(
        other.finished(heated), file=planner.batch, before=draft.before, added=heating, without=draft.trial
    )


@dataclass(frozen=True)
class _Verified:
    """Settings that were checked, by a finer run and by slices; what the search kept on top by then; what was begun meanwhile."""

    values: Values
    tight: Trial
    slices: Spread
    needs: Needs
    in_full: Callable[[], tuple[Spread, Answer]]


@dataclass(frozen=True)
class _Draft:
    """Settings found and checked, not explained yet; see `Plan`."""

    search: Search
    verified: _Verified
    before: Trial
    missed: dict[str, float]
    planned: Batch
    history: History
    grade: Grade

    @property
    def met(self) -> bool:
        """Whether the log reduction is shown to be met, with what is to be kept beyond it."""
        return self.grade == "met" and "reduction" not in self.missed

    @property
    def trial(self) -> Trial:
        """What the settings reach by the full model."""
        return judged(self.history, loads_of(self.planned).count)


class _Planner:
    """A plan in the making."""

    @classmethod
    def of(
        cls,
        document: Mapping[str, Any],
        name: str,
        folder: Path,
        seed: int,
        pool: Executor | None,
        progress: Callable[[float, str], None] | None,
    ) -> "_Planner":
        """Return the planner of a batch file."""
        batch = parse_document(dict(document), name, folder)
        requirements, uncertainties = read_requirements(document, name, batch), uncertainties_of(batch)
        template = template_of(document, name, folder, batch, requirements.variables)
        return cls(batch, requirements, template, uncertainties, seed, pool, progress)

    def __init__(
        self,
        batch: Batch,
        requirements: Requirements,
        template: Template,
        uncertainties: Mapping[str, Uncertainty],
        seed: int,
        pool: Executor | None,
        progress: Callable[[float, str], None] | None,
    ) -> None:
        self.batch, self.requirements, self.template, self.uncertainties = (
            batch,
            requirements,
            template,
            uncertainties,
        )
        self.seed, self.pool, self.progress = seed, pool, progress
        self.done, self.doing = 0, ""
        self.within = {
            key: replace(uncertainty, size=0.0) if INPUTS[key].level == "batch" else uncertainty
            for key, uncertainty in uncertainties.items()
        }

    def _now(self, doing: str) -> None:
        self.doing = doing
        self._tick(0)

    def _tick(self, more: int) -> None:
        self.done += more
        if self.progress:
            self.progress(min(self.done / _EXPECTED, 0.98), self.doing)

    def draft(self) -> _Draft:
        """Search and verify."""
        template = self.template
        before, organism = self._as_it_stands()
        search = Search(template, organism, unevenness(self.uncertainties), self.seed, self.pool, self._tick)
        self._now("many schedules")
        needs = self._needs(organism)
        search.begin(needs, self.requirements.aim)
        return self._best_of(search, needs, before)

    def _best_of(self, search: Search, needs: Needs, before: Trial) -> _Draft:
        """Verify the best that a search has found."""
        verified = self._verified(search, needs)
        planned = self.template.batch(verified.values)
        history = verified.slices.meant
        return _Draft(
            search=search,
            verified=verified,
            before=before,
            missed=self._missed(search, verified.values, verified.tight, verified.needs.bare()),
            planned=planned,
            history=history,
            grade=judge_batch_lethality(history, limits=False).grade,
        )

    def finished(self, draft: _Draft, tried: tuple[Remedy, ...] | None = None) -> Plan:
        """Explain a draft; `tried` are changes to it, simulated here where they are wanted and left out."""
        search, verified, missed, planned = draft.search, draft.verified, draft.missed, draft.planned
        wanted = not draft.met and tried is None
        # whole pieces of work, beside the search that goes on in steps of two runs
        changes = self._begun(_changes, planned) if wanted else lambda: tried or ()
        loosened, curves = self._explained(search, verified, feasible=not missed)
        if not missed and search.knows_better(verified.values, verified.needs, self.requirements.aim):
            return self.finished(self._best_of(search, verified.needs, draft.before), tried)
        with_uncertainties, answer = verified.in_full()
        values, template = verified.values, self.template
        return Plan(
            file=self.batch,
            batch=self.batch,
            requirements=self.requirements,
            template=template,
            needs=verified.needs.bare(),
            values=values,
            document=template.at(values),
            planned=planned,
            trial=draft.trial,
            tight=verified.tight,
            answer=answer,
            reached=not missed,
            shown=draft.grade == "met",
            missed=missed,
            before=draft.before,
            added=None,
            without=None,
            in_window=share_in_window(verified.slices),
            apart=apart(verified.slices),
            with_uncertainties=with_uncertainties,
            trade_offs=curves,
            relaxed=loosened,
            evener=self._evener(planned, search) if "window" in missed else (),
            remedies=changes(),
            simulated=search.simulated,
            seed=self.seed,
        )

    def _as_it_stands(self) -> tuple[Trial, str]:
        """Try the file as it is, and return which organism is farthest from its target in the strongest schedule."""
        template = self.template
        self._now("the batch as it is")
        as_is = parse_document(template.document, template.name, template.folder)
        strongest = template.batch([variable.high for variable in template.variables])
        trials = dict(each(tried, [as_is, strongest], self.pool))
        able = next((trial for trial in (trials[1], trials[0]) if not trial.problem), None)
        return trials[0], able.decides if able else "salmonella"

    def _needs(self, organism: str) -> Needs:
        """Return what is asked for, with the log reduction of the organism that is followed."""
        return Needs(
            target_log10=target_of(self.batch, organism),
            beyond=self.requirements.reserve,
            water_activity=self.batch.targets.water_activity,
            in_window=self.requirements.in_window or 0.0,
            spare_reduction=_SPARE_REDUCTION,
        )

    def _explained(
        self, search: Search, verified: "_Verified", *, feasible: bool
    ) -> tuple[tuple[Relaxed, ...], tuple[TradeOff, ...]]:
        """Search again with needs and bounds relaxed, and for other amounts of what is traded off."""
        values, needs = verified.values, verified.needs
        self._now("what binds")
        loosened = relaxed(search, values, needs.bare(), needs, self.requirements, feasible=feasible)
        self._now("what more would cost")
        curves = trade_offs(search, values, needs)
        self._now("slices with all their uncertainties")
        return loosened, curves

    def _begun(self, work: Callable[..., _Result], *arguments: Any) -> Callable[[], _Result]:
        """Begin a piece of work; return what waits for it."""
        if self.pool is None:
            return lambda: work(*arguments)
        return self.pool.submit(work, *arguments).result

    def _evener(self, planned: Batch, search: Search) -> tuple[tuple[str, float], ...]:
        """Share in the window with slices that differ less, by the quick model."""
        ways = [("Slices that differ half as much within a class", planned, 0.5 * search.uneven)]
        if len({each.thickness_m for each in planned.meat.classes}) > 1:
            mean = sum(each.share * each.thickness_m for each in planned.meat.classes)
            single = replace(planned.meat, classes=of_one_thickness(planned.meat.classes, mean))
            ways.append(("All slices of one thickness", replace(planned, meat=single), search.uneven))
        if any(each.lies != "flat" for each in planned.meat.classes):
            flat = tuple(replace(each, lies="flat") for each in planned.meat.classes)
            apart = replace(planned, meat=replace(planned.meat, classes=flat))
            ways.append(("All slices flat, none overlapping or on foil", apart, search.uneven))
        return tuple(
            (words, float(screened(Many((batch,), search.organism, uneven))["in_window"][0]))
            for words, batch, uneven in ways
        )

    def _verified(self, search: Search, needs: Needs) -> "_Verified":
        """Refine and verify, keeping more on top each time the verifying runs miss something."""
        again = False  # what misses something is searched once more, with what the slices showed
        for _ in range(_VERIFICATIONS):
            self._now("the best ones, in full")
            best = search.refined(needs, self.requirements.aim)
            if best is None:
                why = search.why_not()
                raise InputError(
                    f"{self.template.name}: no schedule within [plan.between] can be simulated{why}"
                )
            values = best
            self._now("checking")
            tight, slices, in_full = self._checked(values)
            self._tick(8)
            search.shift += share_in_window(slices) - search.in_window(values)
            search.shift_apart += apart(slices) - search.apart(values)
            if search.missed(values, needs.bare()) > 0.0:
                if again or not self._worth_another(search, values, needs):
                    break
                again = True
                continue
            missed = self._missed(search, values, tight, needs.bare())
            if not missed:
                break
            needs = replace(
                needs,
                spare_reduction=needs.spare_reduction + missed.get("reduction", 0.0) + 0.02,
                spare_window=needs.spare_window + (0.01 if "window" in missed else 0.0),
            )
        return _Verified(values, tight, slices, needs, in_full)

    def _checked(self, values: Values) -> tuple[Trial, Spread, Callable[[], tuple[Spread, Answer]]]:
        """Check settings by a finer run and by slices; meanwhile begin what only those that pass need: a worker would wait."""
        planned, pool, seed = self.template.batch(values), self.pool, self.seed
        load, within = loads_of(planned).one, self.within
        finer = self._begun(tried, planned, VERIFY_NODES, VERIFY_TOLERANCE)
        meant = self._begun(run, load)()
        in_full = self._begun(_in_full, meant, planned, self.uncertainties, seed)
        judged = judge_batch_lethality(meant, limits=False)  # tells which organism to follow
        slices = spread(load, within, slices=SLICES, seed=seed, meant=meant, judged=judged, executor=pool)
        return finer(), slices, in_full

    def _worth_another(self, search: Search, values: Values, needs: Needs) -> bool:
        """Whether what the slices showed of the share in the window promises a plan that misses less."""
        if not needs.in_window:
            return False
        promised = search.promised(
            search.best(needs, self.requirements.aim)[None], needs, self.requirements.aim
        )
        return float(needs.missed(promised)[0]) < search.missed(values, needs.bare()) - 1e-3

    def _missed(self, search: Search, values: Values, tight: Trial, bare: Needs) -> dict[str, float]:
        """What is missed, by need: log reduction in log10 by the worse of both runs."""
        missed: dict[str, float] = {}
        for trial in (search.trials[values], tight):
            if trial.problem:
                missed["problem"] = math.inf
                continue
            beyond = math.floor(10.0 * (trial.beyond + 1e-9)) / 10.0  # as the verdict counts
            if beyond < bare.beyond or not trial.reached:
                missed["reduction"] = max(missed.get("reduction", 0.0), bare.beyond - trial.beyond, 1e-3)
        search.trials[values], kept = tight, search.trials[values]
        try:
            pairs = [search.measured(values, bare)]
        finally:
            search.trials[values] = kept
        pairs.append(search.measured(values, bare))
        for numbers in pairs:
            for key, short in bare.shortfalls(numbers).items():
                if key != "reduction" and float(short) > 0.0:
                    missed[key] = max(missed.get(key, 0.0), float(short))
        return missed


def _changes(planned: Batch) -> tuple[Remedy, ...]:
    """Simulate changes to the plan; the runs themselves are not kept."""
    return tuple(replace(remedy, history=None) for remedy in remedies(loads_of(planned).one))


def _in_full(
    meant: History, planned: Batch, uncertainties: Mapping[str, Uncertainty], seed: int
) -> tuple[Spread, Answer]:
    """Draw slices with all uncertainties, and judge a plan with what has to be measured, for which some runs are made."""
    answer = Answer(meant, loads=loads_of(planned))
    draw = partial(spread, meant=meant, judged=answer.lethality)  # which the answer keeps, too
    return draw(meant.batch, uncertainties, slices=UNCERTAIN, batches=KITCHENS, seed=seed), answer
