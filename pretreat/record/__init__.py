"""The dated record of a running site: readings, their normalisation and what they mean."""
