"""The reference files that the package reads: in a checkout, and in what a wheel holds."""

from dryingsim.batch import shared_file


def test_head_and_rows():
    head, rows = shared_file.shared_rows("federal_meat_times")
    assert "FSIS-GD-2021-14" in head["source"]
    assert head["status"].startswith("read")
    assert rows[0] == {"temp_F": "130", "log5_s": "5160", "log6_5_s": "6720", "log7_s": "7260"}


def test_a_built_package_reads_its_own_copies(tmp_path, monkeypatch):
    folder = tmp_path / "shipped" / "shared"
    folder.mkdir(parents=True)
    (folder / "some_times.csv").write_text("# source: nobody\na,b\n1,2\n", encoding="utf-8")
    monkeypatch.setattr(shared_file, "_PACKAGE", tmp_path)
    assert shared_file.shared_rows("some_times") == ({"source": "nobody"}, ({"a": "1", "b": "2"},))
