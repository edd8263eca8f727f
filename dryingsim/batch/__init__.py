"""What a person describes: validated, frozen, in SI."""
