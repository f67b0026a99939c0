"""Water, pumps and tanks of the plant."""
