"""What every bed of grains has in common."""
