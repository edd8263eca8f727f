"""The solver against exact solutions of the coupled equations, other solvers and finer grids; commands that are interrupted."""
