"""Pages that are filled in by hand."""
