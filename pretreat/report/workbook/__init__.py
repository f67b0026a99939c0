"""The study as a workbook."""
