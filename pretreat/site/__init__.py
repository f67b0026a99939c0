"""The engineer's choices and the site file."""
