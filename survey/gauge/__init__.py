"""Numbers in, numbers out: what is measured or counted at the bench, worked out. Pure."""
