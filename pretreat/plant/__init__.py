"""The plant as a whole."""
