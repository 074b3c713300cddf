"""What is most useful to do next."""
