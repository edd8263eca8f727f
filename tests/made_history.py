"""The demonstration batch on the trays of a small appliance: what many tests run."""

from dataclasses import replace

import dryingsim as ds
from dryingsim.batch.appliance_schema import Heater, TrayStack, Ventilation, Walls


def tray_stack(**changes):
    """A small stack of trays: air through one after the other."""
    trays = {"slots": 5, "length_m": 0.3, "width_m": 0.3, "flow": "series"}
    trays |= {"circulation_m3_s": 60 / 3600, "speed_m_s": 0.8} | changes
    return ds.Appliance(
        name="tray stack",
        trays=TrayStack(**trays),
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


def in_stack(hours, appliance=None, **changes):
    """The demonstration batch on the trays of an appliance."""
    batch = ds.demo_batch()
    stage = replace(batch.stages[0], duration_s=3600.0 * hours, until=None)
    return replace(batch, appliance=appliance or tray_stack(), stages=(stage,), **changes)
