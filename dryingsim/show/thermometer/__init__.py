"""What was read of loggers and thermometers, and what speaks against it."""
