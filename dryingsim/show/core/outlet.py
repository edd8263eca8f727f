"""Where text leaves for a screen: nothing in it moves the cursor or hides a line, whatever a file or a name held."""

import io
from typing import TYPE_CHECKING, Any, TextIO

from dryingsim.plain_text import escaping_errors, visible

if TYPE_CHECKING:
    from rich.console import Console


class Outlet(io.TextIOBase):
    """A stream that shows control characters instead of obeying them.

    Attributes
    ----------
    styled : TextIO
        The stream behind it, for what colours its words itself and has made them `visible` before.
    """

    def __init__(self, stream: TextIO) -> None:
        self.styled = stream
        if hasattr(stream, "reconfigure"):  # letters that its encoding has not come out as numbers
            stream.reconfigure(errors=escaping_errors())

    def __del__(self) -> None:
        """Do nothing, where its base would close: the stream behind it is another's, and its modules may be gone by then."""

    def write(self, text: str, /) -> int:
        """Write a text."""
        self.styled.write(visible(text))
        return len(text)

    def flush(self) -> None:
        """Hand on what has been written."""
        self.styled.flush()

    def isatty(self) -> bool:
        """Return whether it is a terminal."""
        return self.styled.isatty()

    def fileno(self) -> int:
        """Return the number of the file behind it."""
        return self.styled.fileno()

    def writable(self) -> bool:
        """Return whether it takes text."""
        return True

    @property
    def encoding(self) -> Any:  # type: ignore[override]
        """Of the stream behind it."""
        return getattr(self.styled, "encoding", None)


def console_on(stream: Any) -> "Console":
    """Return what draws tables and bars in colour on a stream; their words have to be `visible`."""
    from rich.console import Console

    coloured = isinstance(stream, Outlet) and stream.isatty()
    return Console(file=stream.styled if coloured else stream, highlight=False, markup=False, emoji=False)
