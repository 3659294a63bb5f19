"""The bench: its values, its file, and the file to begin with."""
