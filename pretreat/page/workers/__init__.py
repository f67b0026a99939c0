"""The processes that compute: how they start, what they remember, how they are ended."""
