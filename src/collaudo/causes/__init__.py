"""causes."""
