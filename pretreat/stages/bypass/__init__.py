"""Bypass of the softener."""
