"""Aeration."""
