"""No thermostat is turned by a probe out of its place; no file is written that a batch could not use."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from made_batch import warm_air_text
from made_log import BATCH, PRIORS
from typer.testing import CliRunner

from dryingsim import demo_batch
from dryingsim.batch.reading.learned_file import read_learned
from dryingsim.batch.reading.weigh_in_log import parse_weigh_ins
from dryingsim.batch.writing.batch_file import batch_toml
from dryingsim.cli.main import app
from dryingsim.errors import InputError
from dryingsim.learn.estimates import learned_file, learned_from
from dryingsim.learn.fit import fit
from dryingsim.learn.fitted_run import FittedRun
from dryingsim.learn.logs import put_together
from dryingsim.learn.problem import logged_batch_of
from dryingsim.learn.readings import readings_of
from dryingsim.learn.support import KEY, MOST_BY_AIR_K, MOST_BY_WEIGHT_K, fit_supported

SETTING = BATCH.stages[0].air.temperature_K - 273.15
TRIAL = logged_batch_of(BATCH, parse_weigh_ins("time, weight [g]\n0:00, 719\n"))
DRY_KG, RAW = 0.19, 2.8  # of the batch, and its moisture [kg/kg]


def simple(batch, keys, values, times_s):
    """Runs by plain formulas, so that many fits take no time: meat dries, and comes up to its air, by an exponential."""
    fitted_runs = []
    for row in values:
        off = dict(zip(keys, row, strict=True))
        air = 273.15 + SETTING + off.get("setpoint", 0.0)
        rate = np.exp(off["diffusivity"] + 0.3 * off.get("film", 0.0)) * (
            1.0 + 0.02 * off.get("setpoint", 0.0)
        )
        left = np.exp(-times_s * rate / 9000.0)[:, None]
        fitted_runs.append(
            FittedRun(
                time_s=times_s,
                dry_kg=np.array([DRY_KG]),
                kind=np.array([0]),
                tray=np.array([0]),
                moisture_db=RAW * left,
                activity=0.5 + 0.5 * left,
                core_K=air - 35.0 * left**0.5,
                air_K=np.full_like(left, air),
            )
        )
    return fitted_runs


def log(**readings):
    """A log with readings of a thermometer in the air and in the meat: `air=(None, 70)` has one in its second line."""
    times = (0.0, 1.0, 2.0, 4.0)
    at = 3600.0 * np.array(times)
    fitted_run = simple(BATCH, ("diffusivity",), np.array([[-0.3]]), at)[0]
    weight = 1e3 * fitted_run.weight_kg(np.ones(1, dtype=bool))
    lines = ["time, weight [g], air [degC], meat [degC]"]
    for i, hour in enumerate(times):
        two = [readings.get(name, ()) for name in ("air", "meat")]
        cells = [f"{one[i]:.0f}" if i < len(one) and one[i] is not None else "" for one in two]
        lines.append(f"{hour:.0f}:00, {weight[i]:.0f}, {', '.join(cells)}")
    return parse_weigh_ins("\n".join([*lines, ""]), "mine.csv")


def supported(weighed, priors=PRIORS):
    logged = replace(TRIAL, log=weighed, readings=readings_of(weighed))
    return fit_supported([logged], priors, simulate=simple)


@pytest.fixture(scope="module")
def good():
    return supported(log(air=(None, SETTING - 2, SETTING - 3, SETTING - 2)))


def offset(found):
    return learned_from(found.fit).corrections[KEY].value


def test_an_offset_that_readings_of_the_air_agree_on_is_learned(good):
    assert good.why == ""
    assert offset(good) == pytest.approx(-2.3, abs=0.7)  # three readings, each good to 1 K
    warm = supported(log(air=(None, SETTING + 10, SETTING + 11, SETTING + 10)))
    assert warm.why == ""
    assert MOST_BY_WEIGHT_K < offset(warm) < 11.0


def test_a_probe_that_reads_as_the_meat_does_takes_no_harm():
    found = supported(log(air=(None, SETTING, SETTING + 1, SETTING), meat=(None, 43, 51, 59)))
    assert found.why == ""
    assert abs(offset(found)) < 2.0


def test_weighings_alone_say_little_of_the_thermostat():
    found = supported(log())
    assert found.why == ""
    assert abs(offset(found)) < MOST_BY_WEIGHT_K


CASES = {
    "beside the heater": (log(air=(None, SETTING + 22, SETTING + 22, SETTING + 23)), "more than 15 K"),
    "on a cold wall": (log(air=(None, SETTING - 19, SETTING - 19, SETTING - 19)), "more than 15 K"),
    "one look": (log(air=(None, None, SETTING + 14)), "with one reading of the air, cannot show more than 6 K (11 °F)"),
    "one look, far off": (log(air=(None, None, SETTING + 30)), "do not fit (mine.csv line 4)"),
    "once here, once there": (log(air=(None, None, SETTING - 8, SETTING + 8)), "do not fit (mine.csv line 4)"),
    "now wet, now dry": (log(air=(None, SETTING - 20, SETTING - 15)), "disagree by more than their errors explain"),
    "in the air, not in the meat": (log(meat=(None, SETTING, SETTING + 1)), "do not fit (mine.csv line 3)"),
    "in the air all along": (
        log(air=(None, SETTING, SETTING + 1, SETTING), meat=(None, SETTING, SETTING + 1, SETTING)),
        "line 3 has a thermometer in the meat that reads as the air does",
    ),
}  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_an_offset_that_a_misplaced_probe_explains_is_not_learned(case):
    weighed, says = CASES[case]
    found = supported(weighed)
    assert says in found.why
    assert found.why.startswith("No offset of the thermostat is learned")
    assert "\n" not in found.why
    assert not re.search(r"[+-][0-9]", found.why)
    learned = learned_from(found.fit).corrections
    assert set(learned) == {"diffusivity", "film", "moisture"}
    # the weights still teach how fast this meat dries, as they do where no thermometer was written down
    plain = supported(log(), PRIORS.without(KEY))
    assert learned["diffusivity"].value == pytest.approx(
        learned_from(plain.fit).corrections["diffusivity"].value
    )
    read, _ = read_learned(learned_file(found.fit, "l.toml").decode(), "l.toml")
    assert set(read.corrections) == set(learned)


def test_where_much_is_thought_possible_the_readings_do_not_carry_more():
    wide = replace(PRIORS, common=np.where([one == KEY for one in PRIORS.keys], 15.0, PRIORS.common))
    for weighed, _ in CASES.values():
        assert supported(weighed, wide).why


def test_a_file_that_no_batch_could_use_is_not_written(good):
    key = good.fit.priors.keys.index("diffusivity")
    z = good.fit.z.copy()
    z[key] = 2.5 / good.fit.priors.common[key]  # twelve times as fast
    with pytest.raises(InputError, match=r"l\.toml is not written.*diffusivity.*1/8 to 8") as error:
        learned_file(replace(good.fit, z=z), "l.toml")
    assert "\n" not in str(error.value)


def test_a_log_whose_name_is_no_text_is_told():
    with pytest.raises(InputError, match="no text in UTF-8"):
        learned_file(supported(replace(log(), name="caf\udce9.csv")).fit, "l.toml")


def test_priors_without_one():
    rest = PRIORS.without(KEY)
    assert rest.keys == ("diffusivity", "film", "moisture")
    sizes = zip(PRIORS.keys, PRIORS.total.tolist(), strict=True)
    assert rest.total.tolist() == [size for key, size in sizes if key != KEY]
    assert MOST_BY_WEIGHT_K < MOST_BY_AIR_K


def test_the_reason_is_said_and_what_is_written_can_be_used(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "b.toml").write_text(warm_air_text(), encoding="utf-8")
    (tmp_path / "b.csv").write_text(
        "time, weight [g], air [degC]\n10:00, 719,\n11:00, 520, 92\n12:00, 420, 93\n", encoding="utf-8"
    )
    done = CliRunner().invoke(app, ["learn", "b.toml", "b.csv", "--out", "l.toml", "--json"])
    assert done.exit_code == 0, done.output
    data = json.loads(done.stdout)
    assert any("No offset of the thermostat is learned" in one for one in data["notes"])
    assert KEY not in data["next_batch"]
    text = (tmp_path / "l.toml").read_text(encoding="utf-8")
    assert "setpoint" not in text
    assert set(read_learned(text, "l.toml")[0].corrections) == set(data["next_batch"])


def test_weights_that_fit_badly_take_hardly_more_runs_than_good_ones():
    """Parabolas that promise too much are trusted less far from where they hold, not halved on the same way."""
    weighed = parse_weigh_ins(
        "time, weight [g]\n0:00, 719\n0:45, 503\n1:30, 431\n2:30, 374\n3:30, 338\n4:30, 316\n5:15, 309\n"
    )
    sets = []

    def counted(*asked):
        sets.append(asked)
        return simple(*asked)

    logged = replace(TRIAL, log=weighed, readings=readings_of(weighed))
    found = fit([logged], PRIORS, simulate=counted)
    assert found.slips
    assert len(sets) <= 12  # a log that fits takes 3 to 5


def test_a_first_weight_from_after_the_heating_is_refused(tmp_path):
    """Slices lose a fifth of their weight in the liquid: counted from there, they would seem to dry at half their speed."""
    batch, weighed = tmp_path / "heated.toml", tmp_path / "w.csv"
    batch.write_text(batch_toml(demo_batch()))
    for first in (719, 660):  # a little less meat than is typed
        weighed.write_text(f"time, weight [g]\n0:00, {first}\n0:45, 480\n1:30, 420\n")
        assert put_together(batch, [weighed])[2] == ()
    weighed.write_text("time, weight [g]\n0:00, 575\n0:45, 480\n1:30, 420\n")
    with pytest.raises(
        InputError, match=r"line 2: 575 g at the start, .* Put it there \(719 g by the batch file\)"
    ):
        put_together(batch, [weighed])
