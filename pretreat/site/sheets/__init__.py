"""The files that the command ``new`` writes to be filled in, and how the workbook is read back."""
