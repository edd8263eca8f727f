"""Pieces of the model against exact solutions, textbooks, standards and handbook tables."""
