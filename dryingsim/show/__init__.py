"""From answers to tables and pictures.

Throughout, `system` is "metric" or "us", and so is `units` as a text, which is as the batch file says if left out; `Units` and a
`Unit` print quantities, and `degrees` a temperature [K] with its unit. A docstring tells of an argument what is not told here.
"""

from dryingsim.lazy_import import modules

__getattr__, __dir__ = modules(__name__, __path__)
