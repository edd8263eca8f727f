"""From answers to tables and pictures."""
