"""What photos show and where things are: suggestions, many at once, search."""
