"""Bisulfite feed."""
