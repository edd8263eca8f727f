"""The next batch: which settings, within what may be changed, reach what is asked for in the least time."""
