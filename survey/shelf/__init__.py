"""Making and opening surveys."""
