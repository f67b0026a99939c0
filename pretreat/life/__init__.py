"""How long media last."""
