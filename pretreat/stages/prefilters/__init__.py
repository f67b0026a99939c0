"""Multimedia and cartridge filters."""
