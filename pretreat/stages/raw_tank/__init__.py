"""The raw water tank."""
