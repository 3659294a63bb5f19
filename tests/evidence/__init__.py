"""Simulations that show how far the printed intervals can be trusted.

Run `python -m tests.evidence models --logs 2000` from the top of the checkout.
"""
