"""What a sound machine shows in every check, here and as it is set."""
