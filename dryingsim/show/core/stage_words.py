"""What slices are in during a stage that is not in drying air, by its kind."""

from dryingsim.batch.schema import StageKind

MEDIA: dict[StageKind, str] = {
    "liquid": "stirred in liquid (marinade or water) at {at}",
    "steam": "in steam at {at}",
    "rest": "covered, so that nothing dries, at {at}",
}
