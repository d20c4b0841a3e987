"""Kinds of part, one file each: what may be declared, the equations it obeys, what it reports."""
