"""Pure functions of numbers, one correlation each: formula, units, range and source in the docstring."""
