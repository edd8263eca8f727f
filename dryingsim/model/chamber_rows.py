"""Where each quantity stands in the state of an appliance."""

TOTALS = ("heater_J", "fan_J", "lost_J", "aired_J", "aired_kg", "steam_kg", "condensed_kg", "condensed_J")


class ChamberRows:
    """Rows of a chamber's state, by name.

    Parameters
    ----------
    cells : int
        Cells of air: the supply, then one for each tray.

    Attributes
    ----------
    energy, water : slice
        Of each cell [J], [kg].
    supply_J, supply_kg : int
        The supply's among these.
    shell_J, floor_J : int
        Energy of shell and floor [J] above 0 degC.
    thermostat_K : int
        Temperature of the thermostat's sensor, or the setting of the supply air by an ideal thermostat that senses the
        return [K].
    pan_kg, pan_J, element_J : int
        Water and energy of the pan [kg], [J]; heat stored in the heating element [J].
    totals : slice
        Running totals since the start, each also by its name in `TOTALS`: energy given by heater and fan, lost to the
        room, and carried out with air [J]; water carried out with air, let in as steam, and condensed [kg]; energy that
        ran off with what condensed [J].
    air_and_walls : slice
        What an error of a step is measured by.
    size : int
    """

    def __init__(self, cells: int) -> None:
        own = 2 * cells
        self.energy, self.water = slice(0, cells), slice(cells, own)
        self.supply_J, self.supply_kg = 0, cells
        self.shell_J, self.floor_J, self.thermostat_K = range(own, own + 3)
        self.pan_kg, self.pan_J, self.element_J = range(own + 3, own + 6)
        self.air_and_walls = slice(0, own + 3)
        first = own + 6
        self.size = first + len(TOTALS)
        self.totals = slice(first, self.size)
        self.heater_J, self.fan_J, self.lost_J, self.aired_J, self.aired_kg = range(first, first + 5)
        self.steam_kg, self.condensed_kg, self.condensed_J = range(first + 5, self.size)
