"""Sentences about the log of a thermometer, by key: what speaks against it, and what was assumed."""

from dryingsim.batch.schema import Form
from dryingsim.show.core.quantities import Words

PLACES_OF_PROBE: dict[Form, str] = {
    "sliced": "Bacteria at the probe are taken to be as on the surface of intact muscle",
    "minced": "Bacteria at the probe are taken to be as in ground meat",
    "pounded": "Bacteria at the probe are taken to be inside muscle, where they last twice as long as in ground meat",
}


PROBE_WORDS: dict[str, Words] = {
    # what speaks against a log (judge.log_plausibility)
    "warm_and_warming": "it begins at {meat_K:degrees} and gets warmer, and the air was not logged: nothing tells degC from "
    "degF, or meat from air",
    "few_readings": "only {count} reading{count:plural} at {hot_K:degrees} or hotter; at least {least} are needed to rely on: "
    "log more often",
    "fast_rise": "it rises from {before_K:degrees} to {after_K:degrees} within {span_s:.3g/min} min, faster than a slice of "
    "{thickness_m:length} can; a slip, or the probe had left the meat (--thickness says how thick it was)",
    "unseen_rise": "it rises from {before_K:degrees} to {after_K:degrees} between two readings; wet meat does that in humid "
    "air only, and no humid air was logged: log more often, and the relative humidity",
    "hotter_than_its_air": "the meat, {meat_K:degrees}, is hotter than its air was at any time in the last half hour",
    "cooler_than_wet_bulb": "for {span_s:.0f/min} min the meat is far below the wet bulb of the air as logged ({meat_K:degrees} "
    "beside {wet_bulb_K:degrees}), and such air warms any meat: is the wick dry, or the humidity or the air wrong?",
    "as_hot_as_its_air": "wet meat at {meat_K:degrees}, as hot as its air: evaporation keeps it cooler unless the air is "
    "humid. Was the probe in the air, or the meat drier than said?",
    "wet_and_too_hot": "meat of a water activity of {water_activity:.2f} at {meat_K:degrees}: evaporation keeps wet meat "
    "cooler; is the unit right?",
    "too_hot_without_air": "meat at {meat_K:degrees}, and the air was not logged; is the unit right? A column air would "
    "show that it was as hot",
    "too_long_wet": "hot for {span_s:.0f/h} h at a water activity of {water_activity} or more; slices dry meanwhile. Is the "
    "water activity right, and the unit of the time?",
    "swinging": "the readings swing by {spread_K:difference} while hot, as air does and the inside of meat does not",
    "humidity_never_changes": "the relative humidity is {humidity:.0%} in each of {count} readings, and no air holds so "
    "still: is the instrument stuck, or was the number typed?",
    "no_water_activity": "no water activity was logged or given; the numbers are those of meat that stayed wet "
    "({water_activity:g}), and dry meat protects bacteria",
    # what speaks against the log being that of the fitted slice (judge.fitted_probe)
    "never_behind_its_air": "the probe is never more than {behind_K:difference} behind its air, and cold meat laid into warm air "
    "is {least_K:difference} behind it at first: was it in the air, or did the log begin late?",
    "started_otherwise": "it begins at {meat_K:degrees}, but the batch file lays in meat of {start_K:degrees}: was the probe in "
    "the air, or did the log begin late?",
    "probe_in_air": "from {begin_s:.1f/h} h on the probe follows the air for {span_s:.0f/min} min, and any slice of this batch "
    "is cooler than such air there: was it in the air, in the tray, or had it fallen out?",
    "log_departs": "from {begin_s:.1f/h} h on no slice of this batch in the air as logged explains the readings, for "
    "{span_s:.0f/min} min in all, by {off_K:difference} at most: did the probe slip, are the clocks of meat and air apart, or is "
    "the humidity or the batch file wrong?",
    "probe_half_out": "{share:.0%} of what the probe shows is the air: it was not well inside the meat",
    "fit_unlikely": "to explain the readings, so much of what the batch file says has to be wrong at once that it happens to one "
    "honest log in 500: is it the log of this batch, and was the probe inside the meat?",
    "heated_less": "in the liquid or steam the meat reads {hottest_K:degrees} at most, and is meant to reach {asked_K:degrees}",
    # what was assumed (judge.probe)
    "water_activity_assumed": "water activity was not logged; {water_activity:g} was assumed throughout",
    "probe_error_taken_off": "{reads_high_K:difference} was taken off every reading of the meat, which its probe may read "
    "too high",
    "warm_with_reason": "the meat was warm when the log began, said to be so because: {reason:typed}",
    "reading_stands_out": "line {line} stands out: far hotter than the lines before and after; it is not counted",
    "readings_stand_out": "lines {line} to {last_line} stand out: far hotter than the lines before and after; they are not "
    "counted",
    "hotter_than_measured": "from line {line} on hotter than measured in wet meat: D is held constant",
    "place_of_probe_only": "the judgement holds for the place of the probe only, not for the whole piece",
}
