"""A batch on one page."""
