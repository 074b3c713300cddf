"""What follows from the facts: what is missing, what belongs together. Pure: no files, no clock."""
