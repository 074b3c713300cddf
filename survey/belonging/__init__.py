"""Does a part belong to this machine: evidence for and against, weighed."""
