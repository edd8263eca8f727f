"""Files that are not there, or no text: one line each, with what may have been meant."""

import pytest

from dryingsim.batch.reading.text_file import read_text
from dryingsim.errors import InputError


def message(path, *more):
    with pytest.raises(InputError) as caught:
        read_text(path, *more)
    return str(caught.value)


def test_the_nearest_name_is_told_before_a_new_file(tmp_path):
    (tmp_path / "mine.toml").touch()
    assert message(tmp_path / "mien.toml", "dryingsim new").endswith(
        "no such file; did you mean 'mine.toml'?"
    )
    assert message(tmp_path / "other.toml", "dryingsim new").endswith(
        "'dryingsim new' writes one to start from"
    )
    assert message(tmp_path / "mien.csv").endswith("no such file")


def test_an_unquoted_value_taken_for_a_file_starts_none():
    assert message("g/kg", "dryingsim new g/kg") == "g/kg: there is no such file"


@pytest.mark.parametrize(
    ("name", "told"), [(" ", "' '"), ("a\nb", r"'a\nb'"), ("\xa0", r"'\xa0'"), ("x" * 300, "x...'")]
)
def test_odd_names_are_told_in_quotes(name, told):
    assert told in message(name).partition(": ")[0]


def test_what_is_no_text(tmp_path):
    assert message(tmp_path) == f"{tmp_path}: this is a folder; a file is expected"
    for content, says in (
        (b"\xff\xfea\0", "this is text in UTF-16; save it as plain text in UTF-8"),
        (b"\x89PNG\0\0", "this is not a text file; plain text in UTF-8 is expected"),
        (b"# 68\n# 68 \xb0C\n", "line 2 has a letter that is not UTF-8"),
    ):
        (tmp_path / "b.toml").write_bytes(content)
        assert says in message(tmp_path / "b.toml")
    assert "no file can have such a name" in message("a\0b")
    assert (
        message("a.toml", "", "b.toml: [learned], file")
        == "b.toml: [learned], file = 'a.toml': there is no such file"
    )
