"""Parts as they are called at the bench: ``pump_cut_out`` the pump cut-out, ``group_2`` the second group."""

from __future__ import annotations

from collaudo.paths.words import spoken as part_in_words

__all__ = ["part_in_words"]
