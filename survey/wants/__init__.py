"""What is to be got, and the sheets to take along."""
