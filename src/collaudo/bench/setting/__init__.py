"""What follows from a setting: trials of the twin, and whether what they give is wanted."""
