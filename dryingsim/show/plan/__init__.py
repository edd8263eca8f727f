"""A schedule found for what was wished."""
