"""How everything shown is made: units, tables, styles, files written whole."""
