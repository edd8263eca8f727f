"""What is wrong with the spelling of a TOML file, in the words of who typed it."""

import pytest

from dryingsim.batch.reading.toml import parse_toml
from dryingsim.errors import InputError


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (
            "[meat]\nthickness = 5 mm",
            'line 2, column 15: text and quantities stand in quotes: thickness = "5 mm"',
        ),
        ("cut = beef eye of round # raw", 'quotes: cut = "beef eye of round"'),
        ("thickness = “5 mm”", 'the quotation marks are to be straight ones: thickness = "5 mm"'),
        ("water_activity = 0,85", "the decimal sign is a point: water_activity = 0.85"),
        ('cut = "beef', "line 1, column 12: the quotation mark that ends a text is missing"),
        ('cut = "beef\nform = "sliced"', "line 1, column 12: the quotation mark that ends a text is missing"),
        ("air =", "a value is expected after the '='"),
        ('air = "70 degC" hot', "something follows the value"),
        ("thickness", "a key with its value is expected"),
        ("[meat", "the bracket that closes a heading is missing"),
        ("[[stage]", "the brackets that close a heading are missing"),
        ("[room]\n[room]", "line 2, column 6: this heading stands there a second time"),
        ('air = "1"\nair = "2"', "line 2, column 10: this stands there a second time: 'air'"),
        ("a = { b = 1, b = 2 }", "a key stands twice between the braces"),
        ("stage = []\n[[stage]]", "nothing can be added to it here: 'stage'"),
        ("a = [1, 2", "the bracket ] that ends a list is missing"),
        ('a = { b = "1"\n\n[meat]', "the brace } that ends a table is missing"),
        ("thickness = [{ value = 5 mm }]", 'text and quantities stand in quotes: value = "5 mm"'),
        ('thickness = ["5 mm", 6 mm]', 'text and quantities stand in quotes: "6 mm"'),
        ('thickness = [{ value = 5 mm", share = "1 %" }]', "a quotation mark is missing in this line"),
        ('thickness = [{ value = "5 mm, share = "1 %" }]', "a quotation mark is missing in this line"),
        ("a = { b = 1", "the brace } that ends a table is missing"),
        (r'file = "C:\meat.toml"', "a backslash in double quotes"),
        ('a = "\x00"', "a letter that no text file should hold"),
        ("a = " + "1" * 5000, "a number has thousands of digits"),
        ("a = " + "[" * 600 + "]" * 600, "b.toml: tables and lists within each other"),
        ("a = " + "[" * 20 + "]" * 20, "b.toml: tables and lists within each other"),
    ],
)
def test_spelling_is_told_in_plain_words(text, says):
    with pytest.raises(InputError) as caught:
        parse_toml(text, "b.toml")
    message = str(caught.value)
    assert message.startswith("b.toml: ")
    assert says in message
    assert "not valid TOML" not in message  # the words of the reader, which nothing of ours has replaced


def test_what_no_words_are_known_for_is_passed_on(monkeypatch):
    def fail(text):
        raise ValueError("Something new (at line 3, column 4)")

    monkeypatch.setattr("dryingsim.batch.reading.toml.tomllib.loads", fail)
    with pytest.raises(InputError, match=r"^b.toml: line 3, column 4: Something new \(not valid TOML\)$"):
        parse_toml("1\n2\n3", "b.toml")
