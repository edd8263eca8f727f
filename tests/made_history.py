"""The demonstration batch on the trays of a small appliance: what many tests run."""

from dataclasses import replace

from made_appliance import tray_stack
from made_batch import warm_air


def in_stack(hours, appliance=None, **changes):
    """The demonstration batch on the trays of an appliance."""
    batch = warm_air()
    stage = replace(batch.stages[0], duration_s=3600.0 * hours, until=None)
    return replace(batch, appliance=appliance or tray_stack(), stages=(stage,), **changes)
