"""The steps around the dryer, the finished product and a home batch against tables, experiments and common practice."""
