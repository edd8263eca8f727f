"""What logged batches taught, and the folder they stand in."""
