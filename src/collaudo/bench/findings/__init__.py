"""Findings of one job: the book they are written in, what they say, which check comes next."""
