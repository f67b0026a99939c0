"""What is delivered: the product behind all that stands behind the membranes, and its traces."""
