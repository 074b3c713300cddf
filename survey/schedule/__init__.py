"""Catalogues, the schedule, its positions and gaps."""
