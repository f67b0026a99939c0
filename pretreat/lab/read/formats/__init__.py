"""The forms in which reports are delivered, each into grids of text cells."""
