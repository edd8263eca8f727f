"""What every complaint about bad input must be: one clear line."""

import pytest

from dryingsim.batch.reading.batch_file import parse_batch
from dryingsim.errors import InputError


def message_of(function, *args):
    """The message of the error that a call ends with."""
    with pytest.raises(InputError) as caught:
        function(*args)
    message = str(caught.value)
    assert message.splitlines() == [message]
    return message


def message_about(text):
    """The message that a batch file called b.toml ends with; it names the file."""
    message = message_of(parse_batch, text, "b.toml")
    assert message.startswith(("b.toml: ", "b.toml has no key "))
    return message


def assert_one_line(result, says, code=2):
    """A command ended with one line that says something, its exit code, and neither output nor traceback."""
    assert result.exit_code == code, result.output
    assert result.stdout == ""
    assert result.stderr.startswith("dryingsim: ")
    assert len(result.stderr.splitlines()) == 1
    assert says in result.stderr
    assert isinstance(result.exception, SystemExit)
