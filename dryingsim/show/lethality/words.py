"""Sentences about log reductions, by key or from the numbers of a judgement: grades, warnings, cautions, remedies."""

from collections.abc import Mapping
from typing import Any

from dryingsim.batch.schema import Form
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.judge.grades import Estimate, Grade, HomeAdvice, OrganismLethality
from dryingsim.judge.remedies import HOTTER_K, HUMID_K, OVEN_K, RemedyName
from dryingsim.show.core.quantities import Degrees, Words, celsius, logs, percent, spoken

MEANINGS: dict[Grade, str] = {
    "far below": "even the best estimate is below 1 log",
    "below target": "the best estimate is below the target",
    "not shown": "the best estimate reaches the target; the lower bound does not, or does on unsupported grounds",
    "met only if measured": "the lower bound reaches the target, but counts on what was not measured; the warnings say what",
    "met": "the lower bound reaches the target",
}
ESTIMATE_WORDS: dict[Estimate, str] = {"lower": "lower bound (95 %)", "best": "best estimate"}
DRY_AIR = (
    "In dry air no law that was tried tells left-out studies better than a constant, so no schedule can be told from another: 3 "
    "to 4 log is what was counted, 1 to 5 is likely in a new laboratory, and what reduces bacteria there besides heat is "
    "not known"
)
WITHOUT_HEAT = (
    "Without heat, beside all this and counted in none of it: E. coli O157:H7 may have declined by about {reduction} log "
    "while the meat was too dry for it to grow and not above {most} (a law from 44 studies of fermented and dried meat; it "
    "predicts other studies no better than a constant). Of other bacteria nothing is credited"
)
CAUTIONS = (
    "A simulation validates no process: these are estimates from published laboratory values, not a test.",
    "Measure the meat itself with a checked thermometer; the temperature of the air says little.",
    "Follow your local food-safety authority; to sell, have a process authority review the process.",
    "Dry does not mean that bacteria are dead, and neither predicts how long the meat keeps.",
)


def _both(temperature_K: float) -> str:
    """Return a temperature in both systems: the sentence also stands where nobody chooses units."""
    celsius = temperature_K - ZERO_CELSIUS
    return f"{celsius:.0f} °C ({1.8 * celsius + 32.0:.0f} °F)"


BOILING = "boiling marinade or water"
IN_WATER = 'Plain water takes salt out, so the meat must be dried further: say water = "boiling" in place of marinade.'
CHANGES: dict[RemedyName, str] = {
    "as it is": "Nothing is changed.",
    "heated first": f"The slices are heated in {BOILING} (ground meat in steam), until their middle is as hot as the home advice "
    f"asks. {IN_WATER}",
    "boiled first": f"The slices go into {BOILING} (ground meat into steam) for five minutes before they are dried. {IN_WATER}",
    "humid first": f"First come 70 min of air at {_both(HUMID_K)} and 95 % relative humidity.",
    "hotter first": f"The first drying stage runs in air of {_both(HOTTER_K)}, or of the highest setting the appliance has.",
    "oven after": f"The dried slices go into a hot oven of {_both(OVEN_K)} for ten minutes.",
    "thinner": "The slices are a third thinner.",
}


def places(form: Form) -> str:
    """Return where bacteria are taken to sit."""
    where = "at both faces, as on intact muscle" if form == "sliced" else f"at every depth, as in {form} meat"
    return f"bacteria are taken to sit {where}"


def reason(entry: OrganismLethality) -> str:
    """Return the numbers of a grade as a sentence."""
    uncertain = f" (less {entry.quadrature_spread:.1f} for coarse samples)" if entry.coarse else ""
    return (
        f"{entry.name}: lower bound (95 %) {logs(entry.counted)} log{uncertain}, best estimate {logs(entry.best)} log; "
        f"{entry.target:.1f} log required ({entry.guideline}), which a new study would count with a chance of "
        f"{percent(entry.probability)}: {MEANINGS[entry.grade]}."
    )


def home_advice(advice: HomeAdvice, degrees: Degrees = celsius) -> str:
    """Return how the batch stands to the home advice."""
    asked = f"Home advice is to heat the meat to {degrees(advice.asked_K)} throughout before it is dried"
    if advice.before_drying:
        return f"{asked}; that was done."
    if advice.reached_s is None:
        return f"{asked}. Here its coldest spot never got hotter than {degrees(advice.hottest_K)}."
    late = f"after {spoken(advice.reached_s)} of drying, its faces at a water activity of "
    return f"{asked}. Here it got there {late}{advice.face_water_activity:.2f}."


def _bacteria_grow(values: Mapping[str, Any], degrees: Degrees) -> str:
    parts = []
    if values["warm_h"]:
        low, high = (degrees(values[key]) for key in ("low_K", "high_K"))
        parts.append(
            f"some of the meat stands between {low} and {high} above a water activity of {values['water_activity']:g} for "
            f"{values['warm_h']:.1f} h; federal guidance allows {values['longest_h']:g} h"
        )
    parts += [
        f"{entry.name} may grow by more than the {entry.limit:g} log that federal guidance allows: by {logs(entry.upper)} log "
        f"where bacteria sit, {logs(entry.lagged)} if they need time to begin"
        for entry in values["grown"]
    ]
    return (
        f"bacteria grow: {'. '.join(parts)}. They may multiply and leave toxins that no heat removes; the log reduction "
        "counts from the raw meat and leaves that out"
    )


_LIMITS = "Critical limits, found by search on this batch: "
_WHICH_LIQUID = (
    "{washed:?. Water washes salt and sugar out of the slices: times, weights and storage count on none that is left, the log "
    "reduction on all of it|{kept:?. What is told here is of slices heated in marinade: plain water takes salt and sugar out of "
    "the slices, which then must be dried further. Say so in the batch file, water in place of marinade, if you use it}}"
)
_TIMES_THE_MEAT = (
    ". That is {liquid_to_meat:.0f} times the weight of the meat (an estimate); stir, and measure the liquid when the slices "
    "come out"
)
_MEASURE = (
    "In the room's own air, heated as much, the lower bound for {organism} is {relied_log10:log} log. A vented dryer or a "
    "household oven does not hold humid air once its fan runs: steamed ones fell to 30 % relative humidity. Measure the wet bulb "
    "at the slices, with the meat in; if it holds, give it: humidity = {{ wet_bulb = ..., measured = true }}"
)

LETHALITY_WORDS: dict[str, Words] = {
    # what is to be read before the verdict (judge.reductions, growth_time, relied_air, probe)
    "species_unknown": "the species of the meat is not stated, so the strictest of all targets are required; state it in "
    '[meat], for example species = "beef" (beef, pork, poultry, game, fish, other), or for a thermometer\'s log with --species',
    "species_other": 'species = "other": guidelines name no such meat, so the strictest of all targets are required; if it is '
    "poultry (all birds), beef, pork, game or fish, say so",
    "species_clash": "the meat is called {name:typed}, which is {named}, but its species is stated as {stated}: the stricter of "
    "the two is used; correct the species",
    "species_fish": "this is fish: the federal tables and what is known of bacteria here are of meat, so the strictest targets "
    "are required; for parasites see below; ask your food-safety authority",
    "bacteria_grow": _bacteria_grow,
    "humidity_measured": "the verdict counts on a humidity, and on the temperature of the air, that are said to have been "
    "measured at the slices (`measured = true`): if they were not, or fell when a fan ran or a door opened, it is wrong",
    "humidity_decides": "the air's humidity decides and was not measured. "
    + _LIMITS
    + "The wet bulb at the slices must read "
    "{wet_bulb_K:at_least} or more, with the accuracy of a good reading in it, from {begin_s:.0f/min} to "
    "{end_s:.0f/min} min. " + _MEASURE,
    "setting_below_limit": "as set the wet bulb is {planned_K:at_most} at most, which serves as computed but leaves no room for "
    "the accuracy of the reading: raise the humidity or the temperature of the air, so that it can read {wet_bulb_K:at_least}",
    "humidity_decides_unfound": "the air's humidity decides and was not measured. " + _MEASURE,
    "humidity_within_error": "the air that was measured is too near to what is needed: {bulb_error_K:difference} cooler, with a "
    "wet bulb as much lower or 5 points less relative humidity, as good instruments may err, the lower bound for {organism} "
    "is {relied_log10:log} log. Hold the air hotter, more humid, or for longer",
    "started_hot": "the meat is said to go in at {start_K:degrees}: what made it so hot was not shown, so nothing is credited "
    "where it is until it has been cooler",
    "slices_overlap": "{share:percent} of the meat overlaps: surfaces that touch stay wet and warm long after the rest is dry, "
    "and bacteria sit there too; the judgement counts that place, as if the pieces stay together to the end",
    "covered_counts_as_open": "a surface that lies on a closed sheet or on another slice may not stay as wet and hot as it is "
    "computed: heat counts there as if it had dried like the open one",
    "cover_decides": "it holds only where a sheet or another slice keeps the meat wet and hot, which was not measured; with all "
    "slices apart on mesh, in air that was shown to be as hot and humid, the lower bound for {organism} is {relied_log10:log} "
    "log. Lay them so, or heat the slices before they dry",
    "liquid_taken_to_stay": "the liquid is taken to stay at the temperature stated, whatever goes in: heat few slices at a time, "
    "in at least {liquid_to_meat:.0f} times their weight of liquid (an estimate), stir, and measure the liquid when the slices "
    "come out" + _WHICH_LIQUID,
    "marinade_too_little": "{marinade_kg:weight} of your marinade is left once the meat has taken up its share, too little to "
    "stay hot with all the meat in it: heat at most {at_a_time_kg:weight} of meat at a time in it, and let it get as hot again "
    "before the next, or heat water instead ({all_at_once_kg:weight} for all at once)"
    + _TIMES_THE_MEAT
    + _WHICH_LIQUID,
    "heat_before_decides": "the heat before drying decides, and no log of it is evidence: in hot liquid or steam a probe beside "
    "the slices reads as one inside them does. By drying alone the lower bound for {organism} is {relied_log10:log} log. Measure "
    "the middle of the thickest slice when it comes out: it must read {asked_K:degrees}, as meant",
    "learned_counted": "what earlier batches taught is counted in: {learned:learned}",
    "learned_decides": "learned values decide, which readings of earlier batches support only together with all else that was "
    "assumed; without them the lower bound for {organism} is {relied_log10:log} log. Measure the temperature of the "
    "meat itself",
    "water_activity_estimated": "the water activity decides and was typed or estimated, not shown: the surface of the meat, "
    "where bacteria sit, dries first. Log the temperature and relative humidity of the air beside the slices too: humid air "
    "keeps meat wet",
    "few_nodes": "computed on {nodes} points across a slice: the grade may be better than on {fewest} or more, which it is meant "
    "for; run it with nodes = {fewest} at least",
    # what others counted with what is in the marinade (judge.verdict)
    "acid_counted": "the marinade is sour; that is in no figure here. Counted elsewhere, E. coli O157:H7 on beef slices dried "
    "for 10 h at 60 °C (140 °F): 2.8 to 4.9 log with none or a traditional marinade, more with vinegar in it, and 4.9 to 6.7 "
    "log after a dip in a surfactant and 5 % acetic acid (Calicioglu et al. 2002, J. Food Prot. 65:1394, abstract)",
    "cure_counted": "the marinade holds nitrite; that is in no figure here. Counted elsewhere, Salmonella and L. monocytogenes "
    "in formed beef strips dried for 8 h at 60 °C (140 °F): 2.5 to 4 log without cure, 4 log or more with a nitrite cure "
    "(Harrison et al. 1997, J. Food Prot. 60:1139, abstract)",
    # parasites (judge.parasites)
    "trichinella_met": "parasites, a separate check: as computed, the coldest spot gathers the federal time at temperature "
    "against Trichinella (former 9 CFR 318.10)",
    "trichinella_short": "parasites, a separate check: the coldest spot gathers {share_percent:.0f} % of the federal time at "
    "temperature against Trichinella (former 9 CFR 318.10), and drying, salt and smoke do not make up for it. Heat the meat "
    "through, or use pork that was frozen by that rule: 20 days at -15 °C (5 °F), 10 at -23 °C (-10 °F) or 6 at -29 °C (-20 °F) "
    "in pieces to 15 cm (6 in)",
    "game_parasites": "game: freezing does not destroy the Trichinella of bear, walrus and other wild carnivores; health "
    "departments ask for {asked_K:degrees} for 15 s, and the coldest spot here reached {hottest_K:degrees}. Chronic wasting "
    "disease of deer is destroyed by nothing in a kitchen: have animals tested where it occurs",
    "fish_parasites": "fish: mild drying, salt and cold smoke destroy no parasites. Freeze the fish before: 7 days at -20 °C "
    "(-4 °F), or frozen solid at -35 °C (-31 °F) and 15 h there (FDA Food Code 3-402.11); or cook it to {asked_K:degrees}: the "
    "coldest spot here reached {hottest_K:degrees}",
    # what happened at the least-reduced place (judge.circumstances)
    "never_hot": "the meat reached {hottest_K:at_most} and never {floor_K:degrees}, below which hardly "
    "anything is credited",
    "hot_while_wet": "the meat passed {floor_K:degrees} when its water activity was still {first_activity:.2f}; it was hotter "
    "for {hotter_s:.2f/h} h, reached {hottest_K:degrees}, and dried to {least_activity:.2f} meanwhile",
    "hot_once_dry": "the meat passed {floor_K:degrees} only after its water activity had fallen to {first_activity:.2f}; it was "
    "hotter for {hotter_s:.2f/h} h, reached {hottest_K:degrees}, and dried to {least_activity:.2f} meanwhile",
    "heated_before": "before it dried the meat was hotter than {floor_K:degrees} for {hotter_s:lasting}, and reached "
    "{hottest_K:degrees} where bacteria sit{dried:?; in drying air, once it had cooled, {dried:sentence}}"
    "{longer_may_do:?|. However long it is heated first, the lower bound there is {most_log10:log} log at most: a few bacteria "
    "may survive any heating that has been counted}",
    # where the measured range is left (judge.reductions)
    "hotter_than_measured_D": "up to {hottest_K:degrees}; D was measured up to {measured_K:degrees} and is held constant "
    "above",
    "drier_than_measured": "water activity down to {water_activity:.2f}; measured down to {measured}",
    "dryness_of_others": "the effect of dryness was measured on other bacteria than L. monocytogenes and is assumed the same",
    "beyond_counting": "{target_log10:g} log cannot be shown by counting: hardly anybody counts so many, so the lower bound "
    "never gets there, however hot and long. What can be done instead: follow the federal time-temperature table, judged "
    "beside, in air measured to be as humid as it asks, or heat the meat through before it is dried",
    "coarse_samples": "coarse samples: two rules of integration differ by {spread_log10:.1f} log; it is deducted",
}
