"""The sheet of running cost and media replacement, for the office."""
