"""From a file to its results exactly as printed."""
