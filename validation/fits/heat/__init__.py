"""Heat resistance fitted to published D values, and checked on published challenge studies."""
