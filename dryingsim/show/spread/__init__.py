"""How far the answers lie apart for what is not known."""
