"""Is it worth starting: six gates."""
