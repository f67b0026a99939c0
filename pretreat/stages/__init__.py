"""The unit processes of a train."""
