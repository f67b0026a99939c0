"""What every other room stands on."""
