"""The page in the browser and the HTTP interface beside it. Calls what the commands call."""
