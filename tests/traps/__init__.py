"""Small logs with one trap each: files as a bench leaves them, and what must become of them."""
