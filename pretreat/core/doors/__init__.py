"""The doors of the program: how files come in, how files go out, and clean text for both."""

from pretreat.core.doors.way_in import Kind, check_depth, csv_table, file_bytes, file_text, taken_in
from pretreat.core.doors.way_out import (
    part_of,
    refuse_if_open,
    refuse_target,
    replace_file,
)
from pretreat.core.text import (
    LONGEST_QUOTED,
    csv_text,
    json_text,
    one_line,
    plain_text,
    quoted,
    terminal_text,
)

__all__ = [
    "LONGEST_QUOTED",
    "Kind",
    "check_depth",
    "csv_table",
    "csv_text",
    "file_bytes",
    "file_text",
    "json_text",
    "one_line",
    "part_of",
    "plain_text",
    "quoted",
    "refuse_if_open",
    "refuse_target",
    "replace_file",
    "taken_in",
    "terminal_text",
]
