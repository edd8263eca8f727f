"""A page with sliders: a batch told between the points of a grid, for a class to play with."""
