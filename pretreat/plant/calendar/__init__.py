"""The week of the timers, and a simulated year."""
