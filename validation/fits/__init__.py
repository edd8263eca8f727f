"""Constants of the package fitted to all published evidence at once, each by one command that can be repeated."""
