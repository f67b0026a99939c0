"""Does an analysis agree with itself; what is likely wrong, what is missing."""
