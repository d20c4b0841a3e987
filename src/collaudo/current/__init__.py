"""The machine's wiring as a meter finds it: volts, ohms, amperes, insulation, and where to measure next."""
