"""The batch sheet to print."""
