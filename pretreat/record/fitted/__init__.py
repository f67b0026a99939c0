"""The permeability of the elements as readings of the record show it."""
