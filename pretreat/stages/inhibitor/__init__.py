"""Scale inhibitor."""
