"""What the code remarks beside settings that carry no evidence of their own (`dryingsim.evidence`), for the theory page."""

import ast
import inspect
import io
import tokenize
from collections.abc import Iterator
from functools import cache
from importlib import import_module
from typing import NamedTuple


class Comment(NamedTuple):
    """The comments on a statement: on its own lines, directly above it, and above the block it stands in."""

    beside: str
    above: str
    block: str

    @property
    def own(self) -> str:
        """What is said of it alone; of the block only where nothing is."""
        return "; ".join(filter(None, (self.beside, self.above))) or self.block


@cache
def remarks_in(module: str) -> dict[str, Comment]:
    """Return the remark on every name that a module of the package assigns.

    Examples
    --------
    >>> remarks_in("simulate")["LONGEST_STAGE_S"].own
    'a stage that ends by a condition is given up after this time'
    """
    source = inspect.getsource(import_module(f"dryingsim.{module}"))
    comments = _comments(source)
    found: dict[str, Comment] = {}
    block, last = "", 0
    for node in ast.parse(source).body:
        if not isinstance(node, ast.Assign | ast.AnnAssign):
            continue
        above = _above(node.lineno, comments)
        block = above or (block if node.lineno == last + 1 else "")
        last = node.end_lineno or node.lineno
        beside = " ".join(comments[n][0] for n in range(node.lineno, last + 1) if n in comments)
        found |= dict.fromkeys(names_of(node), Comment(beside, above, block))
    return found


def names_of(node: ast.Assign | ast.AnnAssign) -> Iterator[str]:
    """Yield the names that a statement assigns."""
    for target in node.targets if isinstance(node, ast.Assign) else [node.target]:
        for one in target.elts if isinstance(target, ast.Tuple) else [target]:
            if isinstance(one, ast.Name):
                yield one.id


def _comments(source: str) -> dict[int, tuple[str, bool]]:
    """Return the comment on each line, and whether it has the line to itself."""
    found = {}
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT:
            alone = not token.line[: token.start[1]].strip()
            found[token.start[0]] = (token.string.lstrip("# ").strip(), alone)
    return found


def _above(line: int, comments: dict[int, tuple[str, bool]]) -> str:
    """Return the comment on the lines directly above a line."""
    found: list[str] = []
    while line - 1 in comments and comments[line - 1][1]:
        line -= 1
        found.insert(0, comments[line][0])
    return "" if found and found[0].startswith("---") else " ".join(found)
