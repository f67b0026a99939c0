"""Degasser."""
