"""Runs of a machine from code: sessions, recordings, currents, and a machine to work by hand."""
