"""Many histories: batches side by side, and one batch with something varied."""
