"""A small stack of trays, air through one after the other: the appliance of many tests."""

from dataclasses import replace

from dryingsim.batch.appliance_schema import Appliance, Heater, TrayStack, Ventilation, Walls

_STACK = Appliance(
    name="tray stack",
    trays=TrayStack(
        slots=5, length_m=0.3, width_m=0.3, flow="series", circulation_m3_s=60 / 3600, speed_m_s=0.8
    ),
    door=None,
    ventilation=Ventilation(vents_m3_s=15 / 3600, leakage_m3_s=1 / 3600),
    heater=Heater(
        power_W=500.0,
        radiant_share=0.0,
        control="ideal",
        band_K=4.0,
        sensor="supply",
        sensor_lag_s=30.0,
        element_lag_s=10.0,
        fan_W=20.0,
    ),
    walls=Walls(
        volume_m3=0.03,
        area_m2=0.6,
        film_W_m2K=8.0,
        capacity_J_K=2000.0,
        floor_capacity_J_K=500.0,
        loss_W_K=2.5,
    ),
)


def with_parts(appliance, **parts):
    """The appliance with some fields of its parts changed: heater={...}, trays={...} ..."""
    changed = {name: replace(getattr(appliance, name), **fields) for name, fields in parts.items()}
    return replace(appliance, **changed)


def tray_stack(**parts):
    """The stack, with some fields of its parts changed."""
    return with_parts(_STACK, **parts)
