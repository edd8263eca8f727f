"""An appliance as a person means it, in SI: one frozen dataclass per noun. Units are at the end of the names."""

from dataclasses import dataclass, field
from typing import Literal

from dryingsim.lazy_import import from_above

AirPath = Literal["series", "parallel", "still"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayStack:
    """The trays of an appliance and how the air passes them.

    Attributes
    ----------
    slots : int
        Trays that fit.
    length_m : float
        Of the usable area, along the air flow.
    width_m : float
        Of the usable area, across the flow [m].
    flow : AirPath
        "series": one after another; "parallel": side by side; "still": no fan.
    circulation_m3_s : float
        Air past all trays together, at the set temperature.
    speed_m_s : float
        Of the air along the slices.
    """

    slots: int
    length_m: float
    width_m: float
    flow: AirPath
    circulation_m3_s: float
    speed_m_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A door left ajar: vertical slots through which warm air leaves above and room air enters below.

    Attributes
    ----------
    hinge : Literal['side', 'bottom']
        At which side it turns.
    height_m : float
        [m].
    width_m : float
        [m].
    gap_m : float
        How far the free edge stands off; 0: shut.
    discharge : float
        Discharge coefficient of the slot.
    draught_m_s : float
        What a fan blows through the gap, over half its area each way.
    """

    hinge: Literal["side", "bottom"]
    height_m: float
    width_m: float
    gap_m: float = 0.0
    discharge: float = 0.6
    draught_m_s: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilation:
    """Exchange with the room through a shut appliance.

    Attributes
    ----------
    vents_m3_s : float
        Room air drawn in before the trays; as much leaves after them.
    leakage_m3_s : float
        Through seals, mixed into the chamber.
    """

    vents_m3_s: float
    leakage_m3_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Heater:
    """Heating element and its thermostat.

    Attributes
    ----------
    power_W : float
        At full heat [W].
    radiant_share : float
        Of its heat, given to the floor rather than to the air.
    control : Literal['ideal', 'switching']
        "ideal": the mean of its cycle; "switching": on and off.
    band_K : float
        Switching: between on and off.
    sensor : Literal['supply', 'return']
        Before or after the trays.
    sensor_lag_s : float
        Time constant of the thermostat's sensor (switching).
    element_lag_s : float
        Time constant with which the element gives off its heat (switching).
    fan_W : float
        Power of the fan, all of which warms the air [W].
    highest_K : float or None
        The highest mark of the thermostat; None: not known.
    """

    power_W: float
    radiant_share: float
    control: Literal["ideal", "switching"]
    band_K: float
    sensor: Literal["supply", "return"]
    sensor_lag_s: float
    element_lag_s: float
    fan_W: float
    highest_K: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Shell and floor of the chamber.

    Attributes
    ----------
    volume_m3 : float
        Of the chamber [m3].
    area_m2 : float
        Of the shell inside [m2].
    film_W_m2K : float
        Between chamber air and walls.
    capacity_J_K : float
        Of the shell [J/K].
    floor_capacity_J_K : float
        Of the floor [J/K].
    loss_W_K : float
        From the shell to the room.
    """

    volume_m3: float
    area_m2: float
    film_W_m2K: float
    capacity_J_K: float
    floor_capacity_J_K: float
    loss_W_K: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Moisture:
    """Sources of humidity and what keeps it down.

    Attributes
    ----------
    steam_kg_s : float
        Largest steam flow, used when a stage holds a humidity.
    purge_m3_s : float
        Largest extra exchange with the room, likewise.
    pan_area_m2 : float
        An open pan of water on the floor.
    pan_water_kg : float
        In the pan at the beginning [kg].
    """

    steam_kg_s: float = 0.0
    purge_m3_s: float = 0.0
    pan_area_m2: float = 0.0
    pan_water_kg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Appliance:
    """What stands between the setting and the air at the slices.

    Attributes
    ----------
    name : str
        What it is called.
    trays : TrayStack
        And the air past them.
    door : Door or None
        None: it has none that could stand ajar.
    ventilation : Ventilation
        Exchange with the room.
    heater : Heater
        With its thermostat and fan.
    walls : Walls
        Shell and floor.
    moisture : Moisture
        Steam, extra exchange, a pan of water.
    preheated : bool
        Walls at the set temperature when the trays go in.
    """

    name: str
    trays: TrayStack
    door: Door | None
    ventilation: Ventilation
    heater: Heater
    walls: Walls
    moisture: Moisture = field(default_factory=Moisture)
    preheated: bool = True

    def to_toml(self) -> str:
        """Return the text of an appliance file that reads back the same. See `dryingsim.batch.writing.appliance_file`."""
        text: str = from_above("Appliance.to_toml")(self)
        return text
