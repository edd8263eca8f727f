"""The subjects, in the order of the report. A subject is a module of this package with a list `CASES`."""

from importlib import import_module

from validation.case import Case

SUBJECTS = (
    "moist_air",
    "meat_properties",
    "water_activity",
    "diffusion",
    "conduction",
    "films",
    "faces",
    "drying_rate",
    "coupled",
    "coupled_exact",
    "general_pde",
    "grid",
    "appliance",
    "published_experiments",
    "published_trends",
    "challenge_studies",
    "freezing",
    "marinade",
    "storage",
    "texture",
    "learning",
    "common_practice",
    "screening",
)


def cases_of(subject: str) -> list[Case]:
    """Return the cases of a subject."""
    cases: list[Case] = import_module(f"validation.{subject}").CASES
    return cases
