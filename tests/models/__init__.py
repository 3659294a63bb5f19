"""Checks of the statistics against certified, published and reference-engine figures."""
