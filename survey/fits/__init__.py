"""Trial fits of two parts, spacers, and how far the loose build has got."""
