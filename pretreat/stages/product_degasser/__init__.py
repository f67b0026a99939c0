"""Degasser of the product."""
