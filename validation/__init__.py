"""Checks of the package against published sources: `python -m validation` from the root of the checkout.

One module per subject holds the cases; `case` says what a case is, `report` writes what came out.
"""
