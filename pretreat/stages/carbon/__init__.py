"""Activated carbon."""
