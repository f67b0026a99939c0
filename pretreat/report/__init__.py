"""Study -> workbook, terminal text, CSV files and pictures. Never computes: it only shows."""

from importlib import import_module
from typing import Any

_HOMES = {
    "write_workbook": "pretreat.report.workbook.book",
    "workbook_bytes": "pretreat.report.workbook.book",
    "text_check": "pretreat.report.text.terminal",
    "text_scaling": "pretreat.report.text.terminal",
    "text_size": "pretreat.report.text.terminal",
    "text_rate": "pretreat.report.text.terminal",
    "write_quote": "pretreat.report.hand.quote_pdf",
    "write_csv": "pretreat.report.text.csv_files",
    "write_figures": "pretreat.report.pictures",
}

__all__ = [*_HOMES]  # noqa: PLE0604


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _HOMES:
        raise AttributeError(f"module 'pretreat.report' has no attribute '{name}'")
    return getattr(import_module(_HOMES[name]), name)
