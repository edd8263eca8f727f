"""Checks of the package against published sources: `python -m validation` from the root of the checkout.

One folder per kind of question, in it one module per subject with its cases; `case` says what a case is, `subjects` lists
them, `report` writes what came out. Constants are fitted to evidence in `fits`, speed is measured in `benchmarks`.
"""
