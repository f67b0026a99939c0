"""Prints whose columns stand apart by the same white gutters in all their lines."""
