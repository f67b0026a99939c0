"""Chlorine feed."""
