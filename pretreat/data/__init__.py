"""Constants and tables, each row with its source."""
