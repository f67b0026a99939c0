"""What the program said before a restructuring, kept to compare with."""
