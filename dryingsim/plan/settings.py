"""From the values of the variables to a batch: the file's document changed and read again, with all its checks."""

import copy
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dryingsim.batch.reading.batch_file import parse_document
from dryingsim.batch.schema import Batch
from dryingsim.batch.toml_writing import toml_key, toml_text
from dryingsim.batch.units import from_si, to_si
from dryingsim.errors import InputError
from dryingsim.explore.document_change import change, no_longer_measured, value_at
from dryingsim.plan.requirements import Variable, drying_stage

_NO_TIME_MIN = 0.5  # a stage of less is left out
_INSTANT = "1 s"  # what a stage left out lasts where all candidates are to have the same stages


@dataclass(frozen=True)
class Template:
    """A batch file that a plan changes.

    Attributes
    ----------
    document : dict
        As `tomllib` reads it, without [plan]; with an end by condition for the stage that dries.
    name : str
        What messages call it.
    folder : Path
        Where it lies.
    variables : tuple of Variable
    given_end : bool
        No stage ended by a condition: the one that dries was given the target's water activity.
    """

    document: dict[str, Any]
    name: str
    folder: Path
    variables: tuple[Variable, ...]
    given_end: bool

    def at(self, values: Sequence[float], *, whole: bool = False) -> dict[str, Any]:
        """Return the document with the variables at some values.

        Parameters
        ----------
        values : sequence of float
            Of the variables, each in its unit.
        whole : bool
            Whether stages of no duration stay, for an instant.
        """
        document = copy.deepcopy(self.document)
        gone = self.dropped(values)
        for variable, value in zip(self.variables, values, strict=True):
            if variable.key == "meat.thickness":
                _set_thickness(document, variable, value)
                continue
            typed = variable.typed(value)
            if _is_stage_left_out(variable, value):
                typed = _INSTANT
            change(document, variable.key, variable.key, typed)
        if not whole:
            document["stage"] = [stage for i, stage in enumerate(document["stage"]) if i not in gone]
        return document

    def batch(self, values: Sequence[float], *, whole: bool = False) -> Batch:
        """Return the batch with the variables at some values; raises `InputError` where there is no such batch.

        Parameters
        ----------
        values : sequence of float
            Of the variables, each in its unit.
        whole : bool
            Whether stages of no duration stay, for an instant.
        """
        return parse_document(self.at(values, whole=whole), self.name, self.folder)

    def dropped(self, values: Sequence[float]) -> list[int]:
        """Return the indices of the stages of the file that are left out with the variables at some values."""
        pairs = zip(self.variables, values, strict=True)
        return [
            int(variable.key.split(".")[1]) - 1
            for variable, value in pairs
            if _is_stage_left_out(variable, value)
        ]

    def unmeasured(self, values: Sequence[float]) -> list[int]:
        """Return the indices of the stages of the file that are kept, but in other air than that measured in them.

        Parameters
        ----------
        values : sequence of float
            Of the variables, each in its unit.
        """
        meant = parse_document(self.document, self.name, self.folder)
        gone = self.dropped(values)
        return [i for i in no_longer_measured(meant, self.batch(values, whole=True)) if i not in gone]

    def stands(self, key: str) -> Any:
        """Return what stands in the file at a place; None where nothing does."""
        return value_at(self.document, key.split("."))

    def own(self) -> tuple[float, ...]:
        """Return the values that stand in the file, within the bounds."""
        return tuple(
            min(max(_own(self, variable), variable.low), variable.high) for variable in self.variables
        )


def template_of(
    document: Mapping[str, Any], name: str, folder: Path, batch: Batch, variables: tuple[Variable, ...]
) -> Template:
    """Return the template of a batch file; raises `InputError` where the bounds make no sense.

    Parameters
    ----------
    document : mapping
        The batch file as `tomllib` reads it.
    name : str
        What messages call it.
    folder : Path
        Where files lie that it names.
    batch : Batch
        Of the file.
    variables : tuple of Variable
    """
    kept = copy.deepcopy({key: value for key, value in document.items() if key != "plan"})
    free = all(stage.until is None for stage in batch.stages if stage.dries)
    if free:
        kept["stage"][drying_stage(batch)]["until"] = {"water_activity": batch.targets.water_activity}
    template = Template(kept, name, folder, variables, free)
    for words, values in (("least", [k.low for k in variables]), ("most", [k.high for k in variables])):
        try:
            template.batch(values, whole=True)
            template.batch(values)
        except InputError as problem:
            raise InputError(f"[plan.between], everything at its {words}: {problem}") from None
    return template


def _is_stage_left_out(variable: Variable, value: float) -> bool:
    return variable.key.endswith(".duration") and value < _NO_TIME_MIN


def _own(template: Template, variable: Variable) -> float:
    """Return the value of a variable in the file; the middle of its bounds where the file does not say."""
    if variable.key == "meat.thickness":
        return float(from_si(_mean_thickness(template.document), variable.unit, "length"))
    typed = template.stands(variable.key)
    if typed is None:
        return 0.5 * (variable.low + variable.high)
    if not variable.dimension:
        return float(typed)
    return float(from_si(to_si(template.name, typed, variable.dimension), variable.unit, variable.dimension))


def _mean_thickness(document: dict[str, Any]) -> float:
    typed = document["meat"]["thickness"]
    if not isinstance(typed, list):
        return to_si("thickness", typed, "length")
    shares = [to_si("share", row["share"], "fraction") for row in typed]
    values = [to_si("thickness", row["value"], "length") for row in typed]
    return sum(s * v for s, v in zip(shares, values, strict=True)) / sum(shares)


def _set_thickness(document: dict[str, Any], variable: Variable, value: float) -> None:
    """Set the mean thickness; classes keep their proportions."""
    typed = document["meat"]["thickness"]
    if not isinstance(typed, list):
        document["meat"]["thickness"] = variable.typed(value)
        return
    factor = to_si("thickness", variable.typed(value), "length") / _mean_thickness(document)
    for row in typed:
        own = float(from_si(to_si("thickness", row["value"], "length"), variable.unit, "length"))
        row["value"] = f"{own * factor:.5g} {variable.unit}"


# --- as a file -------------------------------------------------------------------------------------------------------
def written(
    document: Mapping[str, Any], folder: Path, into: Path, head: Sequence[str], remarks: Mapping[str, str]
) -> str:
    """Return a document as the text of a batch file.

    Parameters
    ----------
    document : mapping
        As `tomllib` reads it.
    folder, into : Path
        Where it lies and where it will: files it names are found from there.
    head : sequence of str
        Comments at the top.
    remarks : mapping of str
        Comments behind single lines, by place: "stage.1.air".
    """
    document = copy.deepcopy(dict(document))
    for key in ("appliance", "learned"):
        named = document.get(key)
        if (
            isinstance(named, dict)
            and isinstance(named.get("file"), str)
            and not Path(named["file"]).is_absolute()
        ):
            named["file"] = Path(os.path.relpath(folder / named["file"], into)).as_posix()
    lines = [f"# {line}" for line in head]
    plain = {key: value for key, value in document.items() if not _is_table(value)}
    lines += ["", *(_line(key, value, remarks.get(key)) for key, value in plain.items())]
    for key, value in document.items():
        if key in plain:
            continue
        for number, table in enumerate(value if isinstance(value, list) else [value], start=1):
            inside = isinstance(value, list)
            place = f"{key}.{number}" if inside else key
            lines += ["", f"[[{key}]]" if inside else f"[{key}]"]
            lines += [_line(k, v, _remark(remarks, f"{place}.{k}")) for k, v in table.items()]
    return "\n".join([*lines, ""])


def _remark(remarks: Mapping[str, str], place: str) -> str | None:
    """Return the remark on a place or on what stands below it."""
    return next((text for key, text in remarks.items() if key == place or key.startswith(place + ".")), None)


def _is_table(value: Any) -> bool:
    return isinstance(value, dict) or (
        isinstance(value, list) and all(isinstance(row, dict) for row in value)
    )


def _line(key: str, value: Any, remark: str | None) -> str:
    return f"{toml_key(key)} = {toml_text(value)}" + (f"  # {remark}" if remark else "")
