"""What a person keys in: values with their units, dates, and the record sheet read back."""
