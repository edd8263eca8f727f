"""Libraries that take seconds to load, loaded when something is first asked of them: not by workers that never do."""

from importlib import import_module


class _Late:
    """A module by its name."""

    def __init__(self, name):
        self._name = name

    def __getattr__(self, attribute):
        if attribute.startswith("_"):  # asked by what looks for tests
            raise AttributeError(attribute)
        return getattr(import_module(self._name), attribute)


coolprop, humid_air = _Late("CoolProp.CoolProp"), _Late("CoolProp.HumidAirProp")
