"""The train is chosen: what this water allows, what each costs over its life, which comes first."""
