"""The multimedia filter."""
