"""Puts a finished file in its place: whole or not at all, and never onto an input."""

from pretreat.core.doors import refuse_if_open, replace_file

__all__ = ["refuse_if_open", "replace_file"]
