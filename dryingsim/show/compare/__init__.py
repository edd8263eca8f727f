"""Runs side by side."""
