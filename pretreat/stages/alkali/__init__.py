"""Alkali feed."""
