"""Circuit diagrams of a machine as SVG: water, heat, current."""
