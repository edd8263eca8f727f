"""Batch files that must not be told "met": each with why, and most with what says so before the verdict.

Where a case would be "met" as computed, that is checked too: it must not pass for another reason.
"""

from dataclasses import dataclass, replace
from functools import cache, partial

import pytest

from dryingsim import InputError, parse_batch, run
from dryingsim.judge import relied_air, verdict
from dryingsim.judge.remedies import remedied
from dryingsim.judge.verdict import judge_as_computed, judge_batch_lethality
from dryingsim.show.lethality.finding_words import sentence

pytestmark = pytest.mark.usefixtures("coarse_steps")

FILE = """
[meat]
{meat}
thickness = {thickness}
length = "120 mm"
width = "50 mm"
weight = "{weight}"
temperature = "{start}"
[marinade]
salt = "15 g/kg"
[room]
temperature = "{room}"
humidity = "{room_humidity}"
{more}
[trays]
support = "{support}"
{appliance}
{stages}
"""
BEEF = 'cut = "beef eye of round"\n'
OWN = 'composition = { water = "73 %", protein = "23 %", fat = "3 %", ash = "1 %" }\n'
CABINET, STACKED = '[appliance]\nuse = "cabinet dehydrator"\n', '[appliance]\nuse = "stacked dehydrator"\n'
OVEN, CHAMBER = '[appliance]\nuse = "oven with fan"\n', '[appliance]\nuse = "humidity chamber"\n'
SEALED = 'air.vents = "0 m3/h"\nair.leak = "0 m3/h"\n'
GIVEN = 'speed = "1 m/s"\n'


def held(kind, value, measured=None):
    said = "" if measured is None else f", measured = {str(measured).lower()}"
    return f'humidity = {{ {kind} = "{value}"{said} }}\n'


RH, RH_MEASURED = held("relative", "95 %"), held("relative", "95 %", True)


def stage(air="70 degC", duration="40 min", more=GIVEN):
    return f'[[stage]]\nair = "{air}"\nduration = "{duration}"\n{more}\n'


def file(stages, meat=BEEF, **other):
    given = {
        "thickness": '"4 mm"',
        "weight": "0.5 kg",
        "start": "4 degC",
        "room": "21 degC",
        "room_humidity": "45 %",
        "support": "mesh",
        "appliance": "",
        "more": "",
    }
    return FILE.format(stages=stages, meat=meat, **given | other)


@dataclass(frozen=True)
class Case:
    """A file, why it must not pass, what its warnings say, and whether it would be "met" as computed."""

    name: str
    why: str
    text: str
    says: str = "wet bulb"
    computed: bool = True
    interval_s: float = 60.0


TYPED = "a humidity that was typed is none that the air was shown to have"
TIGHT = "how humid an appliance gets rests on how tight it is taken to be, which is an estimate"
START = "a file can say that slices go in hot; their faces cool at once"
GROWN = "bacteria grow for hours before they are reduced"
STRICT = "what the meat is was not said, or is no beef: more than 5 log of Salmonella are asked for"
SPEED = 'speed = "{}"\n'

CASES = [
    Case("typed relative humidity", TYPED, file(stage(more=GIVEN + RH))),
    Case(
        "air all but saturated, in a fan dryer's air",
        TYPED,
        file(stage(more=GIVEN + held("relative", "100 %"))),
    ),
    Case("typed wet bulb", TYPED, file(stage("75 degC", more=GIVEN + held("wet_bulb", "68 degC")))),
    Case("typed dew point", TYPED, file(stage("75 degC", more=GIVEN + held("dew_point", "67 degC")))),
    Case(
        "hot, wet bulb near boiling", TYPED, file(stage("120 degC", more=GIVEN + held("wet_bulb", "95 degC")))
    ),
    Case("said not to be measured", TYPED, file(stage(more=GIVEN + held("relative", "95 %", False)))),
    Case(
        "a ramp into humid air",
        TYPED,
        file(
            stage(
                duration="4 h", more=GIVEN + held("relative", "80 %") + 'humidity_end = { relative = "98 %" }'
            )
        ),
    ),
    Case(
        "a ramp measured at its dry start only",
        TYPED,
        file(
            stage(
                duration="4 h",
                more=GIVEN + held("relative", "80 %", True) + 'humidity_end = { relative = "98 %" }',
            )
        ),
    ),
    Case(
        "dry first, humid after",
        TYPED,
        file(stage(duration="5 min") + stage(duration="2 h", more=GIVEN + RH)),
    ),
    Case(
        "humid first, measured in the dry stage only",
        TYPED,
        file(stage(more=GIVEN + RH) + stage(more=GIVEN + held("relative", "20 %", True))),
    ),
    Case("minced", TYPED, file(stage(duration="1 h", more=GIVEN + RH), BEEF + 'form = "minced"')),
    Case(
        "ground, the other word",
        TYPED,
        file(stage(duration="1 h", more=GIVEN + RH), BEEF + 'form = "ground"'),
    ),
    Case("pounded", TYPED, file(stage(duration="1 h", more=GIVEN + RH), BEEF + 'form = "pounded"')),
    Case("on a closed sheet", TYPED, file(stage(duration="1 h", more=GIVEN + RH), support="sheet")),
    Case("turned", TYPED, file(stage(more=GIVEN + RH) + stage(more=GIVEN + RH + "turn = true"))),
    Case(
        "until a weight",
        TYPED,
        file(stage("80 degC", "3 h", GIVEN + RH + 'until = { weight_loss = "25 %" }')),
    ),
    Case(
        "two thicknesses",
        TYPED,
        file(
            stage(duration="1 h", more=GIVEN + RH),
            thickness='[{ value = "3 mm", share = "30 %" }, { value = "6 mm", share = "70 %" }]',
        ),
    ),
    Case("high above the sea", TYPED, file(stage(more=GIVEN + RH), more='altitude = "3000 m"')),
    Case("a gale", TYPED, file(stage(more=SPEED.format("9 m/s") + RH))),
    Case("air that does not move", TYPED, file(stage(duration="2 h", more=SPEED.format("0 m/s") + RH))),
    Case(
        "poultry cut",
        TYPED,
        file(stage(duration="1 h", more=GIVEN + RH), 'cut = "turkey breast"'),
        computed=False,
    ),
    Case(
        "no species, and seven log are never counted",
        STRICT,
        file(stage(duration="40 min", more=GIVEN + RH_MEASURED), OWN),
        "species",
        False,
    ),
    Case(
        "own composition with its species",
        TYPED,
        file(stage(duration="1 h", more=GIVEN + RH), OWN + 'species = "game"'),
    ),
    Case("for a day, past done", TYPED, file(stage("85 degC", "20 h", GIVEN + held("wet_bulb", "65 degC")))),
    Case("a humid chamber's own setting", TIGHT, file(stage(duration="1 h", more=RH), appliance=CHAMBER)),
    Case(
        "the same by its wet bulb",
        TIGHT,
        file(stage("75 degC", "1 h", held("wet_bulb", "70 degC")), appliance=CHAMBER),
    ),
    Case("a humid chamber, sealed", TIGHT, file(stage(duration="1 h", more=RH), appliance=CHAMBER + SEALED)),
    Case(
        "a cabinet given steam",
        TIGHT,
        file(
            stage("71 degC", "3 h", held("relative", "85 %")),
            appliance=CABINET + SEALED + 'moisture.steam = "0.3 g/s"\n',
        ),
    ),
    Case(
        "a sealed cabinet, full",
        TIGHT,
        file(stage("71 degC", "10 h", ""), weight="3 kg", thickness='"5 mm"', appliance=CABINET + SEALED),
    ),
    Case(
        "the same, its trays rotated",
        TIGHT,
        file(
            stage("71 degC", "10 h", ""),
            weight="1.8 kg",
            thickness='"8 mm"',
            support='mesh"\nrotate_every = "1 h',
            appliance=STACKED + SEALED,
        ),
    ),
    Case(
        "a pan of water in a sealed cabinet",
        TIGHT,
        file(
            stage("71 degC", "10 h", ""),
            weight="2.5 kg",
            thickness='"5 mm"',
            appliance=CABINET + SEALED + 'moisture.pan_area = "300 cm2"\nmoisture.pan_water = "1 kg"\n',
        ),
    ),
    Case(
        "a shut oven, full",
        TIGHT,
        file(stage("80 degC", "3 h", ""), weight="2.5 kg", thickness='"8 mm"', appliance=OVEN),
    ),
    Case(
        "thick minced slices said to go in at 90 degC",
        START,
        file(stage("90 degC", "1 h", GIVEN), BEEF + 'form = "minced"', start="90 degC", thickness='"25 mm"'),
        "",
        False,
        0.25,
    ),
    Case(
        "warm and humid for nine hours first",
        GROWN,
        file(stage("35 degC", "9 h", GIVEN + RH_MEASURED) + stage(more=GIVEN + RH_MEASURED)),
        "bacteria grow",
    ),
    Case(
        "two warm stages of four hours",
        GROWN,
        file(
            stage("40 degC", "4 h", GIVEN + RH_MEASURED)
            + stage("20 degC", "4 h", GIVEN + RH_MEASURED)
            + stage(more=GIVEN + RH_MEASURED)
        ),
        "bacteria grow",
    ),
    Case(
        "just above ten degrees",
        GROWN,
        file(
            stage("12 degC", "9 h", GIVEN + held("relative", "90 %", True))
            + stage(duration="1 h", more=GIVEN + RH_MEASURED)
        ),
        "bacteria grow",
    ),
    Case(
        "26 degC for 30 h",
        "no reduction by drying is credited in cool meat, and it stood warm and wet",
        file(stage("26 degC", "30 h"), thickness='"6 mm"'),
        "bacteria grow",
        False,
    ),
    Case(
        "35 degC on a closed sheet",
        "the same",
        file(stage("35 degC", "30 h"), thickness='"6 mm"', support="sheet"),
        "bacteria grow",
        False,
    ),
    Case(
        "44 degC for two days",
        "cooler than the meat of every fitted study",
        file(stage("44 degC", "48 h"), thickness='"8 mm"'),
        "bacteria grow",
        False,
    ),
    Case(
        "own composition, no species",
        STRICT,
        file(stage(duration="17 min", more=GIVEN + RH_MEASURED), OWN),
        "species",
        False,
    ),
    Case(
        "own composition, poultry",
        STRICT,
        file(stage(duration="17 min", more=GIVEN + RH_MEASURED), OWN + 'species = "poultry"'),
        "",
        False,
    ),
    Case(
        "own composition, fish",
        STRICT,
        file(stage(duration="17 min", more=GIVEN + RH_MEASURED), OWN + 'species = "fish"'),
        "parasites",
        False,
    ),
    Case(
        "a poultry cut",
        STRICT,
        file(stage(duration="17 min", more=GIVEN + RH_MEASURED), 'cut = "chicken breast"'),
        "",
        False,
    ),
    Case(
        "a room as humid as can be",
        "a room's air is no steam: its wet bulb stays below what reduces",
        file(stage("76 degC"), room="50 degC", room_humidity="100 %"),
        "",
        False,
    ),
    Case(
        "very hot, dry air",
        "faces dry before they are hot, and dry bacteria outlast it",
        file(stage("150 degC", "8 h")),
        "",
        False,
    ),
    Case("a hot dry oven for a day", "the same", file(stage("100 degC", "24 h")), "", False),
]
REACHED = {
    "measured, relative": file(stage(more=GIVEN + RH_MEASURED)),
    "measured, wet bulb": file(stage("75 degC", more=GIVEN + held("wet_bulb", "68 degC", True))),
    "measured in the humid stage alone": file(stage(more=GIVEN + RH_MEASURED) + stage(duration="1 h")),
    "measured in a humid chamber": file(stage(duration="1 h", more=RH_MEASURED), appliance=CHAMBER),
    "five log of beef": file(stage(duration="17 min", more=GIVEN + RH_MEASURED)),
}
REFUSED = {
    "measured in an appliance that holds none": file(stage(more=RH_MEASURED), appliance=CABINET),
    "measured in quotes": file(stage(more=GIVEN + 'humidity = { relative = "95 %", measured = "yes" }')),
    "measured, but what": file(stage(more=GIVEN + "humidity = { measured = true }")),
    "measured beside the humidity": file(stage(more=GIVEN + RH + "measured = true")),
    "a species of another cut": file(stage(), BEEF + 'species = "poultry"'),
    "a species that is none": file(stage(), OWN + 'species = "duck"'),
    "a species in capitals": file(stage(), OWN + 'species = "Poultry"'),
    "a list of species": file(stage(), OWN + 'species = ["beef", "poultry"]'),
}


@pytest.fixture(scope="module", autouse=True)
def coarse_search():
    """Search by very coarse steps for the wet bulb it takes: how low it is has tests of its own, `test_critical_limits`."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(relied_air, "_SEARCH_TOLERANCE", 3e-2)
        yield


@pytest.fixture
def search_that_ends_at_once(monkeypatch):
    """Begin the search for that wet bulb within a kelvin of where it is served: whether it takes one is asked here, not which."""

    def limits(history, records_to, search=relied_air.critical_limits):
        monkeypatch.setattr(relied_air, "_FIRST_WET_BULB_K", float(history.air_wet_bulb_K.max()) - 1.0)
        return search(history, records_to)

    monkeypatch.setattr(verdict, "critical_limits", limits)


@cache
def history_of(text, interval_s=60.0):
    return run(parse_batch(text, "hostile"), nodes=8, tolerance=1e-3, interval_s=interval_s)


@pytest.mark.usefixtures("search_that_ends_at_once")
@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_it_is_not_told_that_the_reduction_is_met(case):
    found = judge_batch_lethality(history_of(case.text, case.interval_s))
    assert found.grade != "met", case.why
    assert found.met_as_computed == case.computed
    assert case.says in " ".join(map(sentence, found.warnings)), case.why
    assert found.table is None or not found.table.fulfilled or "measured = true" in case.text


@pytest.mark.parametrize("text", REACHED.values(), ids=REACHED)
def test_what_was_measured_is_told_to_be_reached(text):
    assert judge_batch_lethality(history_of(text)).grade == "met"


@pytest.mark.parametrize("text", REFUSED.values(), ids=REFUSED)
def test_claims_that_mean_nothing_are_refused(text):
    with pytest.raises(InputError):
        parse_batch(text, "hostile")


def test_what_holds_in_the_rooms_own_air_needs_no_measuring():
    """A humidity no higher than the room's is not doubted: both runs are the same, and the grade stays."""
    humid = file(
        stage("56 degC", "10 h", GIVEN + held("dew_point", "49 degC")), room="50 degC", room_humidity="98 %"
    )
    history = history_of(humid)
    found, computed = judge_batch_lethality(history), judge_as_computed(history)
    assert found.grade == computed.grade
    assert [one.grade for one in found.organisms] == [one.grade for one in computed.organisms]


def test_heating_in_hot_liquid_first_is_reached_in_any_air():
    for text in (file(stage("68 degC", "2 h")), file(stage("68 degC", "2 h", RH), appliance=CHAMBER)):
        batch = parse_batch(text, "hostile")
        history = run(remedied(batch, "boiled first"), nodes=8, tolerance=1e-3, interval_s=10.0)
        assert judge_batch_lethality(history).grade == "met"


def test_the_warning_names_the_humidity_it_would_take():
    found = judge_batch_lethality(
        history_of(file(stage("75 degC", more=GIVEN + held("wet_bulb", "68 degC"))))
    )
    warning, rough = found.warnings
    assert rough.key == "few_nodes"
    assert 273.15 + 58.0 < warning.values["wet_bulb_K"] <= 341.15
    assert warning.values["end_s"] <= 2400.0
    assert "humidity = { wet_bulb = ..., measured = true }" in sentence(warning)
    assert all(one.lower > one.target for one in found.organisms)  # the numbers stay those of the run


# --- wherever a verdict is printed ---------------------------------------------------------------------------------


def shown(document):
    """Return a document as a person reads it, with its details."""
    from dryingsim.show.core.terminal import plain_text

    return plain_text(document, details=True)


@pytest.mark.usefixtures("search_that_ends_at_once")
@pytest.mark.parametrize(
    ("text", "says"),
    [
        (file(stage(more=GIVEN + RH)), "humidity decides"),
        (file(stage("26 degC", "30 h"), thickness='"6 mm"'), "bacteria grow"),
    ],
)
def test_every_way_to_tell_a_verdict_tells_its_warnings_first(text, says, monkeypatch):
    from dryingsim.answer import Answer
    from dryingsim.explore.compare import compare
    from dryingsim.explore.vary import vary_batches
    from dryingsim.show.compare.files import comparison_document
    from dryingsim.show.core.writing import json_text
    from dryingsim.show.report.document import report_html
    from dryingsim.show.run.data import summary
    from dryingsim.show.run.first_screen import history_html, run_document
    from dryingsim.show.run.sheet import sheet_document

    monkeypatch.setattr("dryingsim.explore.compare.run", partial(run, nodes=8, tolerance=1e-3))
    history, batch = history_of(text), parse_batch(text, "hostile")
    answer = Answer(history)
    other = replace(batch, name="other")
    compared = comparison_document(compare([batch, other]))
    varied = comparison_document(vary_batches("room.humidity", ["45 %", "46 %"], [batch, other]))
    told = {
        "run": shown(run_document(answer)),
        "json": json_text(summary(answer)),
        "notebook": history_html(history),
        "report": report_html(answer, ()),
        "sheet": str(sheet_document(answer).blocks),
        "compare": shown(compared),
        "compare, json": json_text(compared.data()),
        "vary": shown(varied),
        "vary, json": json_text(varied.data()),
    }
    for way, page in told.items():
        flat = " ".join(page.split())
        assert says in flat, way
        assert "log reduction is met;" not in flat, way
        assert "log reduction is met:" not in flat, way


def test_spread_and_map_tell_them_too(tmp_path):
    from dryingsim.explore.maps import map_file
    from dryingsim.explore.spread import FEWEST, spread
    from dryingsim.show.core.writing import json_text
    from dryingsim.show.map.text import map_document
    from dryingsim.show.spread.text import spread_document

    path = tmp_path / "b.toml"
    path.write_text(file(stage(more=GIVEN + RH)))
    slices = spread(parse_batch(path.read_text(), "b"), slices=FEWEST, nodes=6)
    grid = map_file(path, ["meat.thickness = 3, 4 mm"], nodes=6)
    documents = (spread_document(slices), map_document(grid))
    for page in (*map(shown, documents), *(json_text(one.data()) for one in documents)):
        assert "humidity decides" in " ".join(page.split())
    assert "not measured" in shown(documents[0])
    assert "so it is not shown" in " ".join(shown(documents[1]).split())


def test_air_hotter_than_the_setting_is_not_relied_on():
    oven = 'use = "oven without fan"\ndoor.gap = "2 mm"\nheater.power = "3 kW"\n'
    batch = parse_batch(
        file(
            stage(air="95 degC", duration="10 min", more=""),
            weight="1.2 kg",
            appliance=f"[appliance]\n{oven}",
        ),
        "b",
    )
    computed = run(batch, nodes=6)
    relied = relied_air.run_relied_on(computed)
    # cold meat keeps the sensor cold, and the air before it gets hotter than anybody may type
    assert computed.air_temperature_K.min(axis=1).max() > 400.0
    assert relied.air_temperature_K.max() <= 368.15
