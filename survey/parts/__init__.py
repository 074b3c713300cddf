"""Parts, findings, looks, readings and own grades."""
