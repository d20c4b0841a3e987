"""Papers: what the bench found, set for print and for the browser."""
