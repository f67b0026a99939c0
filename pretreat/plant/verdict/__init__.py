"""The verdict: whether a design may be signed, why, and what to measure next."""
