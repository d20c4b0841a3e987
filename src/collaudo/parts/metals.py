"""Metals that bodies and shells are made of."""

from __future__ import annotations

SPECIFIC_HEAT_J_PER_KG_K = {"brass": 380.0, "copper": 390.0, "steel": 500.0, "aluminium": 900.0}
"""Between 20 and 120 degC, to two digits; stainless steel (handbook values)."""

METALS = tuple(SPECIFIC_HEAT_J_PER_KG_K)
