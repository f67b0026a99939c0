"""Chemical feed: solution, dosing pump and day tank, shared by all that is dosed."""
