"""Alkali feed into the product."""
