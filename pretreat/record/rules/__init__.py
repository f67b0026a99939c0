"""What readings say together: one rule for each fault, and causes that other gauges speak for."""
