"""Several analyses: of one site over time, or a table of many waters."""
