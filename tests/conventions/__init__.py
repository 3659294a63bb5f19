"""Rules that hold for the whole package, whatever a room is about."""
