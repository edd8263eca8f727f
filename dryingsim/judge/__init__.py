"""From a history to answers."""
