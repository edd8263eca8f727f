"""The one array type the physics speaks: a float or an ndarray of floats."""

from typing import Any

# numpy's own generics would promise shapes and dtypes that no checker can follow through broadcasting.
Array = Any
