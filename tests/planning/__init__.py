"""Which shots to pull next."""
