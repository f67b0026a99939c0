"""Blending of treated raw water into the product."""
