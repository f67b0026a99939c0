"""The study as text."""
