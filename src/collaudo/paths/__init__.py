"""Where water, heat and current go at one moment, told step by step."""
