"""Papers: the document model and its writers, pictures, marks, letters. Knows no subject."""
