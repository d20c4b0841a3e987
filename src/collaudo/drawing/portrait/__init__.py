"""A small front view of a machine that tells its construction at a glance, made from its parts alone."""
