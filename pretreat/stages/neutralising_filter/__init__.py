"""The calcite neutralising filter."""
