"""One module for each resource of the typed interface; each brings its routes in ``router``."""
