"""Notebooks are lessons: stored clean, and executed as the reader will execute them."""
