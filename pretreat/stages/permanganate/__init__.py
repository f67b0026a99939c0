"""Permanganate feed."""
