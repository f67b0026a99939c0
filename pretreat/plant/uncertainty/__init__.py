"""How sure the results are: from the lab's errors to the spread of the recovery limit."""
