"""What is measured of the tool itself."""
