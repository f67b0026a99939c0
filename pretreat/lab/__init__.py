"""Lab reports: from the file as delivered to one validated water, and the judgement of it.

The names load on first use, so that importing the package stays cheap.
"""

from importlib import import_module
from typing import Any

_PUBLIC = {
    "read_analysis": "pretreat.lab.reading",
    "read_samples": "pretreat.lab.reading",
    "read_report": "pretreat.lab.reading",
    "read_site_samples": "pretreat.lab.samples.site_samples",
    "read_design_water": "pretreat.lab.samples.design_water",
    "Judgement": "pretreat.lab.judge.quality",
    "ask_the_lab": "pretreat.lab.judge.gaps",
    "write_form": "pretreat.lab.form",
    "write_analysis_csv": "pretreat.lab.form",
}

__all__ = list(_PUBLIC)


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _PUBLIC:
        raise AttributeError(f"module 'pretreat.lab' has no attribute '{name}'")
    return getattr(import_module(_PUBLIC[name]), name)


def __dir__() -> list[str]:
    """List the public names."""
    return sorted(__all__)
