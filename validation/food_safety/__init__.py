"""Log reductions against published challenge studies."""
