"""What every page and resource shares: the choice of units, quantities in pages, and how faults are told."""
