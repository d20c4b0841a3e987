"""Rules every machine must obey before it runs, by subject."""
