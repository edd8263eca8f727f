"""Data shipped with the package, each number with its source."""
