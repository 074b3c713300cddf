"""What it costs, what is paid, what it may be worth, what its parts would fetch."""
