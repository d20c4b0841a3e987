"""From findings files to causes, and the signatures that this rests on."""
