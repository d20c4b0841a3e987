"""The command line: a face over the bench."""
