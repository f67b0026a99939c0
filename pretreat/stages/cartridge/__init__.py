"""The cartridge filter."""
