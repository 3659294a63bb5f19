"""How often shots fail and how much like shots differ."""
