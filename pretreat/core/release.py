"""The day of this release: what a study may know of time without a clock."""

RELEASED = (2026, 11, 28)  # year, month, day; as in CITATION.cff
