"""Where what was entered at the bench is kept."""

from __future__ import annotations

from collaudo.records.place import VARIABLE, data_folder

__all__ = ["VARIABLE", "data_folder"]
