"""The order of the dry build: steps, what goes on before what, what waits for what."""
