"""The diffusivity fitted to all published drying at once: `python -m validation.fits.drying [--write] [--tables]`.

Three stages: the evidence is simulated over a design of all that is uncertain (checkpoints in `build/`), the answers are
turned into polynomials (`tables.npz`), and from these follow the posterior, the comparison of laws by studies left out
and the coverage of predictive intervals. `--write` puts the result into the package and its page (`report.md`) here;
`--tables` skips the simulation and takes the stored polynomials. All of it is seeded: the same inputs give the same files.
"""
