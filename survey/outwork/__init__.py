"""Work sent away: batches, checks, dockets, returns."""
