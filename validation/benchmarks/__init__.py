"""How fast the package is, measured against a general-purpose solver on the same equations at equal error.

Run with `python -m validation.benchmarks`. Nothing here is a test: times depend on the machine and its other work.
"""
