"""The file of a record: its lines, its lock, and what is read back."""
