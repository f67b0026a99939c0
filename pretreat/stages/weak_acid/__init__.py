"""Weak acid exchange."""
