"""collaudo: a physical twin of the espresso machine on the bench, and the diagnosis built on it."""

__version__ = "0.1.0"
