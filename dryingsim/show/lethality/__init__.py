"""What is left of bacteria, and what may have grown: in words and pictures."""
