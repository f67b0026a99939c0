"""Contact tank."""
