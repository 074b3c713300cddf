"""What was done: the history in words, undo and redo, the bin."""
