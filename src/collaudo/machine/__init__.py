"""Machines: parts joined by lines and wires. Load, validate, save; no solving."""
