"""The record of a batch: what was measured, what was estimated of it, against which limits, and room to sign."""
