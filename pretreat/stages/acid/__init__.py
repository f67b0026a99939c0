"""Acid feed."""
