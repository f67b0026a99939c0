"""What the settings card orders: the recovery, its flows, and the settings against recovery."""
