"""The softener."""
