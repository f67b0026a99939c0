"""The iron and manganese filter."""
