"""What is stuck, seized or snapped: scored, and what to try next."""
