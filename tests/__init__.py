"""Tests of yieldwright, laid out as the package is."""
