"""An appliance as a person means it, in SI: one frozen dataclass per noun. Units are at the end of the names."""

from dataclasses import dataclass, field
from typing import Literal

from dryingsim.lazy_import import from_above

AirPath = Literal["series", "parallel", "still"]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrayStack:
    """The trays of an appliance and how the air passes them."""

    slots: int  # trays that fit
    length_m: float  # of the usable area, along the air flow
    width_m: float
    flow: AirPath  # "series": one after another; "parallel": side by side; "still": no fan
    circulation_m3_s: float  # air past all trays together, at the set temperature
    speed_m_s: float  # of the air along the slices


@dataclass(frozen=True, slots=True, kw_only=True)
class Door:
    """A door left ajar: vertical slots through which warm air leaves above and room air enters below."""

    hinge: Literal["side", "bottom"]
    height_m: float
    width_m: float
    gap_m: float = 0.0  # how far the free edge stands off; 0: shut
    discharge: float = 0.6  # discharge coefficient of the slot
    draught_m_s: float = 0.0  # what a fan blows through the gap, over half its area each way


@dataclass(frozen=True, slots=True, kw_only=True)
class Ventilation:
    """Exchange with the room through a shut appliance."""

    vents_m3_s: float  # room air drawn in before the trays; as much leaves after them
    leakage_m3_s: float  # through seals, mixed into the chamber


@dataclass(frozen=True, slots=True, kw_only=True)
class Heater:
    """Heating element and its thermostat."""

    power_W: float
    radiant_share: float  # of its heat, given to the floor rather than to the air
    control: Literal["ideal", "switching"]
    band_K: float  # switching: between on and off
    sensor: Literal["supply", "return"]  # before or after the trays
    sensor_lag_s: float  # time constant of the thermostat's sensor (switching)
    element_lag_s: float  # time constant with which the element gives off its heat (switching)
    fan_W: float
    highest_K: float | None = None  # the highest mark of the thermostat; None: not known


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """Shell and floor of the chamber."""

    volume_m3: float
    area_m2: float
    film_W_m2K: float  # between chamber air and walls
    capacity_J_K: float
    floor_capacity_J_K: float
    loss_W_K: float  # from the shell to the room


@dataclass(frozen=True, slots=True, kw_only=True)
class Moisture:
    """Sources of humidity and what keeps it down."""

    steam_kg_s: float = 0.0  # largest steam flow, used when a stage holds a humidity
    purge_m3_s: float = 0.0  # largest extra exchange with the room, likewise
    pan_area_m2: float = 0.0  # an open pan of water on the floor
    pan_water_kg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Appliance:
    """What stands between the setting and the air at the slices."""

    name: str
    trays: TrayStack
    door: Door | None
    ventilation: Ventilation
    heater: Heater
    walls: Walls
    moisture: Moisture = field(default_factory=Moisture)
    preheated: bool = True  # walls at the set temperature when the trays go in

    def to_toml(self) -> str:
        """Return the text of an appliance file that reads back the same. See `dryingsim.batch.writing.appliance_file`."""
        text: str = from_above("Appliance.to_toml")(self)
        return text
