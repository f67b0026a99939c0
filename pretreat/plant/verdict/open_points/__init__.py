"""What a laboratory, an authority or a grower has still to say, as obstacles of the verdict."""
