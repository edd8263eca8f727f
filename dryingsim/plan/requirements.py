"""What a person lets a plan change, between which bounds, and what they want: the table [plan] of a batch file.

What may change is named by its place in the file, as for `dryingsim compare --vary`:

    [plan]
    aim = "time"                                    # or "energy", "evenness"
    in_window = "60 %"                              # of the slices, at least, when drying ends
    reserve = 0.5                                   # log10 beyond the target
    [plan.between]
    stage.1.duration = ["0 min", "90 min"]          # a stage of no duration is left out
    stage.2.air = ["60 degC", "80 degC"]
    meat.thickness = ["4 mm", "6 mm"]
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any, Literal, cast, get_args

from dryingsim.batch.checks import check_choice, check_keys, check_range, show
from dryingsim.batch.schema import Batch
from dryingsim.batch.units import from_si, to_ratio, to_si
from dryingsim.errors import InputError

Aim = Literal["time", "energy", "evenness"]
MOST_KNOBS = 6
EXAMPLE = 'stage.1.air = ["60 degC", "75 degC"]'
_MOST_RESERVE = 5.0  # log10
_DEFAULT_COOLEST_K, _DEFAULT_HOTTEST_K = (
    328.15,
    363.15,
)  # 55 and 90 degC: the range drying is done in (estimate)
_FINISH = ("110 degC", "150 degC"), ("0 min", "15 min")  # home advice: 135 degC for 10 min
_OVEN_K = 373.15  # an appliance that goes no higher makes no finish of its own
# places that may be named, and what stands there
_PLACES: tuple[tuple[str, str], ...] = (
    (r"stage\.\d+\.air", "temperature"),
    (r"stage\.\d+\.duration", "duration"),
    (r"stage\.\d+\.door_gap", "length"),
    (r"stage\.\d+\.humidity\.relative", "fraction"),
    (r"stage\.\d+\.humidity\.(wet_bulb|dew_point)", "temperature"),
    (r"stage\.\d+\.until\.water_activity", ""),
    (r"stage\.\d+\.until\.core", "temperature"),
    (r"stage\.\d+\.until\.weight_loss", "fraction"),
    (r"meat\.thickness", "length"),
    (r"appliance\.door\.gap", "length"),
)
_KNOWN = (
    "stage.N.air, stage.N.duration, stage.N.door_gap, stage.N.humidity.relative (or wet_bulb, dew_point), "
    "stage.N.until.water_activity (or core, weight_loss), meat.thickness, appliance.door.gap"
)
# what a kitchen can set: the step of each unit
_STEPS = {
    "min": 5.0,
    "degC": 1.0,
    "degF": 1.0,
    "K": 1.0,
    "mm": 0.1,
    "cm": 0.01,
    "m": 1e-4,
    "inch": 0.005,
    "%": 1.0,
}
_GAP_STEPS = {"mm": 5.0, "cm": 0.5, "m": 0.005, "inch": 0.25}
_SHORT_MIN, _SHORT_STEP_MIN = 120.0, 1.0  # a stage of two hours at most is timed to the minute


@dataclass(frozen=True, slots=True)
class Variable:
    """One thing that may change.

    Attributes
    ----------
    key : str
        Its place in the batch file.
    dimension : str
        See `batch.units`; empty for a water activity.
    unit : str
        That it is set in.
    low, high : float
        Bounds, in the unit.
    step : float
        As finely as it can be set.
    """

    key: str
    dimension: str
    unit: str
    low: float
    high: float
    step: float

    def typed(self, value: float) -> Any:
        """Return a value as it stands in a batch file."""
        if not self.dimension:
            return round(value, 4)
        if self.unit == "min":
            hours, minutes = divmod(round(value, 3), 60.0)
            parts = [f"{hours:.0f} h"] * (hours > 0.0) + [f"{minutes:g} min"] * (minutes > 0.0 or not hours)
            return " ".join(parts)
        return f"{round(value, 4):g} {self.unit}"

    def snapped(self, value: float) -> float:
        """Return the nearest value that can be set; the bounds can."""
        near = [self.low, self.high, self.step * round(value / self.step)]
        return min((v for v in near if self.low <= v <= self.high), key=lambda v: abs(v - value))


@dataclass(frozen=True, slots=True, kw_only=True)
class Requirements:
    """What a plan may change and what it is for.

    Attributes
    ----------
    aim : str
        What is to be least: "time", "energy", or "evenness" (the difference between the slices).
    in_window : float or None
        Share of the slices that are to be pliable when drying ends [-]; None: not asked for.
    reserve : float
        Log10 reduction beyond each target.
    variables : tuple of Variable
    assumed : bool
        Nothing was named in the file: the variables are the default ones.
    """

    aim: Aim
    in_window: float | None
    reserve: float
    variables: tuple[Variable, ...]
    assumed: bool = False


def drying_stage(batch: Batch) -> int:
    """Return the index of the stage that dries: the first to end at a water activity, else the longest."""
    for index, stage in enumerate(batch.stages):
        if stage.until is not None and stage.until.water_activity is not None:
            return index
    drying = [index for index, stage in enumerate(batch.stages) if stage.dries]
    return max(drying, key=lambda i: batch.stages[i].duration_s or float("inf"))


def read_requirements(document: Mapping[str, Any], name: str, batch: Batch) -> Requirements:
    """Read the table [plan] of a batch file; defaults where there is none.

    Parameters
    ----------
    document : mapping
        The batch file as `tomllib` reads it.
    name : str
        What messages call it.
    batch : Batch
        Of the file.

    Examples
    --------
    >>> from dryingsim import demo_batch
    >>> table = {"plan": {"between": {"stage": {"1": {"air": ["140 degF", "160 degF"]}}}}}
    >>> variable = read_requirements(table, "b.toml", demo_batch()).variables[0]
    >>> variable.key, variable.low, variable.high, variable.typed(155.0)
    ('stage.1.air', 140.0, 160.0, '155 degF')
    """
    table, place = document.get("plan", {}), f"{name}: [plan]"
    if not isinstance(table, dict):
        raise InputError(
            f"{place} = {show(table)}: a table of keys is expected (aim, in_window, reserve, between)"
        )
    check_keys(place, table, ("aim", "in_window", "reserve", "between"))
    aim = cast(Aim, check_choice(f"{place}, aim", table.get("aim", "time"), get_args(Aim)))
    if aim == "energy" and batch.appliance is None:
        raise InputError(f'{place}, aim = "energy": this batch names no appliance, so no energy is counted')
    share = None
    if "in_window" in table:
        share = to_si(f"{place}, in_window", table["in_window"], "fraction")
        check_range(f"{place}, in_window", table["in_window"], share, 0.0, 1.0, "0 % to 100 %")
    reserve = 0.0
    if "reserve" in table:
        where, typed = f"{place}, reserve", table["reserve"]
        reserve = check_range(
            where, typed, to_ratio(where, typed), 0.0, _MOST_RESERVE, f"0 to {_MOST_RESERVE:g}"
        )
    between = table.get("between", {})
    if not isinstance(between, dict):
        raise InputError(
            f"{name}: [plan.between] = {show(between)}: places and bounds are expected: {EXAMPLE}"
        )
    variables = tuple(_variable(f"{name}: [plan.between]", key, typed, batch) for key, typed in flat(between))
    if len(variables) > MOST_KNOBS:
        raise InputError(
            f"{name}: [plan.between] names {len(variables)} things to change; {MOST_KNOBS} at most are expected"
        )
    return Requirements(
        aim=aim,
        in_window=share,
        reserve=reserve,
        variables=variables or _default_variables(name, batch),
        assumed=not variables,
    )


def flat(table: Mapping[str, Any], above: str = "") -> Iterator[tuple[str, Any]]:
    """Yield places and what is typed for them, whether typed with dots, in quotes or as tables.

    Parameters
    ----------
    table : mapping
        What stands under [plan.between].
    above : str
        The place of the table itself.
    """
    for key, typed in table.items():
        place = f"{above}.{key}" if above else key
        if isinstance(typed, dict):
            yield from flat(typed, place)
        else:
            yield place, typed


def _variable(place: str, key: str, typed: Any, batch: Batch) -> Variable:
    where = f"{place}, {key}"
    dimension = next((kind for pattern, kind in _PLACES if re.fullmatch(pattern, key)), None)
    if dimension is None:
        raise InputError(f"{where}: this is no place that a plan can change; known: {_KNOWN}")
    if not isinstance(typed, list) or len(typed) != 2:
        raise InputError(
            f"{where} = {show(typed)}: the least and the most are expected, for example {EXAMPLE}"
        )
    _check_place(where, key, batch)
    if dimension:
        low, high = (to_si(where, bound, dimension) for bound in typed)
        unit = _unit_of(str(typed[1]), dimension)
        low, high = (float(from_si(bound, unit, dimension)) for bound in (low, high))
    else:
        unit = ""
        low, high = (to_ratio(where, bound) for bound in typed)
    low, high = round(low, 6), round(high, 6)
    if not low < high:
        raise InputError(f"{where} = {show(typed)}: the least is to come first, and to be less than the most")
    return Variable(key, dimension, unit, low, high, _step(key, unit, high))


def _check_place(where: str, key: str, batch: Batch) -> None:
    """Raise where a place is not in this batch."""
    parts = key.split(".")
    if parts[0] == "stage":
        count = len(batch.stages)
        if not 1 <= int(parts[1]) <= count:
            raise InputError(f"{where}: instead of stage {parts[1]}, one from 1 to {count} is expected")
        stage = batch.stages[int(parts[1]) - 1]
        if parts[2] == "humidity" and stage.air.humidity.kind != parts[3]:
            raise InputError(
                f"{where}: this stage holds no such humidity; give it one first, for example "
                f"humidity = {{ {parts[3]} = ... }}"
            )
    if "gap" in key and (batch.appliance is None or batch.appliance.door is None):
        raise InputError(f"{where}: this batch dries in nothing that has a door")


def _unit_of(text: str, dimension: str) -> str:
    """Return the unit a bound was typed in, as it is printed and set; durations go in minutes."""
    if dimension == "duration":
        return "min"
    if dimension == "fraction":
        return "%"
    for unit in ("degF", "degC", "K") if dimension == "temperature" else ("mm", "cm", "inch", "ft", "m"):
        try:
            if abs(to_si("", text, dimension) - to_si("", f"{_number(text)} {unit}", dimension)) < 1e-9:
                return "inch" if unit == "ft" else unit
        except InputError:  # a number typed in another way, such as 1/4
            break
    return "degC" if dimension == "temperature" else "mm"


def _number(text: str) -> str:
    return re.split(r"[^\d.+-]", text.strip(), maxsplit=1)[0]


def _step(key: str, unit: str, high: float) -> float:
    if not unit:
        return 0.005
    if unit == "min" and high <= _SHORT_MIN:
        return _SHORT_STEP_MIN
    return (_GAP_STEPS if "gap" in key else _STEPS)[unit]


def _default_variables(name: str, batch: Batch) -> tuple[Variable, ...]:
    """Return the air of the drying stage, and what follows it if it is a finish."""
    dries = drying_stage(batch)
    highest = _DEFAULT_HOTTEST_K
    if batch.appliance is not None and batch.appliance.heater.highest_K is not None:
        highest = min(highest, batch.appliance.heater.highest_K)
    unit = "degF" if batch.display == "us" else "degC"
    ends = [float(from_si(kelvin, unit, "temperature")) for kelvin in (_DEFAULT_COOLEST_K, highest)]
    bounds = [f"{round(ends[0])} {unit}", f"{int(ends[1] + 1e-6)} {unit}"]
    place = f"{name}: [plan.between]"
    variables = [_variable(place, f"stage.{dries + 1}.air", bounds, batch)]
    if dries + 1 < len(batch.stages) and batch.stages[dries + 1].until is None and _oven(batch):
        air, duration = (list(bounds_of) for bounds_of in _FINISH)
        variables.append(_variable(place, f"stage.{dries + 2}.air", air, batch))
        variables.append(_variable(place, f"stage.{dries + 2}.duration", duration, batch))
    return tuple(variables)


def _oven(batch: Batch) -> bool:
    """Whether the air of the batch can be as hot as an oven's."""
    if batch.appliance is None or batch.appliance.heater.highest_K is None:
        return True
    return batch.appliance.heater.highest_K > _OVEN_K
