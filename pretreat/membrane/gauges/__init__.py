"""Pressures, osmosis and the normalisation that gauges of a machine are judged by."""
