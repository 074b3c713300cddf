"""What the survey is of, with its numbers as stamped."""
