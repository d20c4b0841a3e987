"""One module for each page of the bench; each brings its routes in ``router``."""
