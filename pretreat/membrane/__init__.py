"""Concentrate, recovery limits, osmotic pressure and permeate of the reverse-osmosis machine."""
