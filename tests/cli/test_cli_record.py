"""`dryingsim record`: a file is written whole or not at all, and slips are told before the work."""

import json

from complaints import assert_one_line
from test_cli_logged_batch import BATCH, LOG
from typer.testing import CliRunner

from dryingsim.cli.main import app


def record(*words):
    environment = {"COLUMNS": "80", "TERM": "dumb", "NO_COLOR": "1"}
    return CliRunner().invoke(app, ["record", str(BATCH), str(LOG), *map(str, words)], env=environment)


def test_a_record_is_written_and_not_over_another(tmp_path):
    target = tmp_path / "record.json"
    result = record("--until", "40 min", "--reads-high", "1 K", "--lot", "12", "-o", target)
    assert result.exit_code == 0, result.output
    found = json.loads(target.read_text("utf-8"))
    assert found["lot"] == "12"
    assert found["reads_high_K"] == 1.0
    assert "not an approval" in found["not_an_approval"]
    assert found["whole_batch"]["organisms"]
    assert_one_line(record("-o", target), "exists already")


def test_a_record_leaves_the_page_of_a_report_alone(tmp_path):
    batch = tmp_path / "heated.toml"
    batch.write_bytes(BATCH.read_bytes())
    for name in ("heated.html", "heated-record.html"):
        (tmp_path / name).touch()
    result = CliRunner().invoke(app, ["record", str(batch), str(LOG)])
    assert_one_line(result, "heated-record.html exists already")


def test_several_logs_have_each_its_own_options(tmp_path):
    second = ("--until", "40 min", "--columns", "meat=CH1 meat,air=CH2,wet_bulb=CH3")
    assert_one_line(
        record(LOG, *second, "--reads-high", "1 K", "--reads-high", "1 K", "--reads-high", "0 K"),
        "--reads-high stands 3 times for 2 probes; give it once for all, or once for each",
    )
    assert_one_line(record(LOG, *second, "--tray", "1", "--tray", "0"), "--tray = 0: trays count from 1")
    assert_one_line(record(LOG, "--columns", "meat=CH1 meat", "--columns", "meat=CH9"), "no column 'CH9'")
    assert_one_line(record(LOG, "--columns", "meat=CH9"), "Or give --columns 2 times, once for each log")


def test_slips_are_told_before_the_work(tmp_path):
    assert_one_line(record("-o", tmp_path / "record.doc"), "ends in .html")
    assert_one_line(record("-o", tmp_path / "r.pdf", "--lot", " "), "--lot is empty")
    assert_one_line(record("-o", tmp_path / "r.pdf", "--limits", tmp_path / "none.toml"), "none.toml")
    assert not list(tmp_path.iterdir())
