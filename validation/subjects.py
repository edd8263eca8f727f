"""The subjects by kind, in the order of the report. A subject is a module of its kind's folder with a list `CASES`."""

from importlib import import_module

from validation.case import Case

SUBJECTS_OF = {
    "physics": (
        "moist_air",
        "meat_properties",
        "water_activity",
        "diffusion",
        "conduction",
        "films",
        "faces",
        "appliance",
    ),
    "numerics": ("coupled", "coupled_exact", "general_pde", "grid"),
    "drying": (
        "drying_rate",
        "edges_in_two_dimensions",
        "contact",
        "published_experiments",
        "predicted_intervals",
        "published_trends",
        "learning",
        "logged_batches",
    ),
    "food_safety": ("challenge_studies", "growth", "federal"),
    "kitchen": (
        "freezing",
        "marinade",
        "storage",
        "texture",
        "measured_dehydrator",
        "common_practice",
        "screening",
    ),
}
FOLDER_OF = {subject: folder for folder, subjects in SUBJECTS_OF.items() for subject in subjects}
SUBJECTS = tuple(FOLDER_OF)


def cases_of(subject: str) -> list[Case]:
    """Return the cases of a subject."""
    cases: list[Case] = import_module(f"validation.{FOLDER_OF[subject]}.{subject}").CASES
    return cases
