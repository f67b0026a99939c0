"""Scaling and pretreatment sizing for small reverse-osmosis machines on well water.

The public names load on first use, so that importing the package stays cheap.
"""

from importlib import import_module
from typing import Any

__version__ = "0.2.0"

_PUBLIC = {
    "read_analysis": "pretreat.lab",
    "check": "pretreat.public",
    "scaling": "pretreat.public",
    "size": "pretreat.public",
    "rate": "pretreat.public",
    "screen": "pretreat.public",
    "write_workbook": "pretreat.public",
    "read_site": "pretreat.stages.site",
    "speciate": "pretreat.chemistry",
    "WaterAnalysis": "pretreat.core.water",
    "DesignBasis": "pretreat.site.design",
    "Study": "pretreat.core.results",
    "PretreatError": "pretreat.core.errors",
}

__all__ = ["__version__", *_PUBLIC]  # noqa: PLE0604


def __getattr__(name: str) -> Any:
    """Load a public name on first use."""
    if name not in _PUBLIC:
        raise AttributeError(f"module 'pretreat' has no attribute '{name}'")
    return getattr(import_module(_PUBLIC[name]), name)


def __dir__() -> list[str]:
    """List the public names."""
    return sorted(__all__)
