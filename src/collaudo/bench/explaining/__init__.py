"""Where water, heat and current go in each state, told and drawn."""
