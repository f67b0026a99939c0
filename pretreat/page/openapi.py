"""The HTTP interface described as OpenAPI does."""

from typing import Any

from pretreat import __version__

_FILE = {"type": "string", "format": "binary"}
_TEXT = {"type": "string"}
_NUMBER = {"type": "number"}
_READING: dict[str, Any] = {
    "sample": {**_TEXT, "description": "Which sample of a report that holds several."},
    "sheet": {**_TEXT, "description": "Which sheet of a workbook."},
    "encoding": {**_TEXT, "description": "Encoding of a text file."},
    "decimal": {"enum": [".", ","], "description": "Decimal mark of the report."},
    "column": {**_TEXT, "description": "Column of results by its heading, letter or number."},
    "unit": {
        "type": "array",
        "items": _TEXT,
        "description": "Unit of results that print none, as mg/L; of one analyte, as Iron=ug/L.",
    },
}
_DRAWS = {"type": "integer", "default": 1024, "description": "A power of two; 0 for none."}
_REPORT = {**_FILE, "description": "The lab report."}
_SITE: dict[str, Any] = {
    "site": {**_TEXT, "description": "The text of the site file (TOML)."},
    "report": {
        "type": "array",
        "items": _FILE,
        "description": "The files that the site file names, under the names that it gives them.",
    },
    "draws": _DRAWS,
}
_SCALING: dict[str, Any] = {
    "report": _REPORT,
    "recovery": {**_NUMBER, "minimum": 0, "maximum": 0.95, "description": "Product / feed."},
    "product": {**_TEXT, "description": "Product flow with its unit, in place of recovery."},
    "drain": {**_TEXT, "description": "Drain flow with its unit, in place of recovery."},
    "temperature": {**_NUMBER, "minimum": 0, "maximum": 60, "description": "Of the plant, °C."},
    "salt_passage": {**_NUMBER, "default": 0, "description": "Permeate / feed of every ion."},
    "inhibitor": {"type": "boolean", "default": False},
    "limits": {**_FILE, "description": "Own scaling limits, CSV."},
    "k_chart": {**_FILE, "description": "Own K chart of the S&DSI, CSV."},
    "draws": _DRAWS,
    **_READING,
}
_UNITS = {
    "name": "units",
    "in": "query",
    "schema": {"enum": ["si", "us"], "default": "si"},
    "description": "Units of the reader.",
}
_DATE = {
    "name": "date",
    "in": "query",
    "schema": {"type": "string", "format": "date"},
    "description": "Date of the document; today's if left out.",
}
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_FAULTS = (
    ("403", "Another host name, or a request that another site sent."),
    ("413", "More was sent than is taken at once."),
    ("422", "The input cannot be used: one line per fault, in the words of the command."),
    ("503", "Busy, or ended at its limit of time or memory; try again."),
)


def _answers(said: str, kind: str, schema: dict[str, Any]) -> dict[str, Any]:
    fault = {"application/json": {"schema": {"$ref": "#/components/schemas/Errors"}}}
    return {
        "200": {"description": said, "content": {kind: {"schema": schema}}},
        **{code: {"description": words, "content": fault} for code, words in _FAULTS},
    }


def _form(said: str, fields: dict[str, Any], needed: list[str]) -> dict[str, Any]:
    schema = {"type": "object", "properties": fields, "required": needed}
    study = {"$ref": "#/components/schemas/Study"}
    return {
        "post": {
            "summary": said,
            "requestBody": {
                "required": True,
                "content": {"multipart/form-data": {"schema": schema}},
            },
            "responses": _answers("The study, as --json prints it.", "application/json", study),
        }
    }


def _document(said: str, kind: str) -> dict[str, Any]:
    study = {"$ref": "#/components/schemas/Study"}
    return {
        "post": {
            "summary": said,
            "parameters": [_UNITS, _DATE],
            "requestBody": {
                "required": True,
                "content": {"application/json": {"schema": study}},
            },
            "responses": _answers("The file.", kind, _FILE),
        }
    }


_SCHEMAS: dict[str, Any] = {
    "Errors": {
        "type": "object",
        "required": ["errors"],
        "properties": {"errors": {"type": "array", "items": _TEXT}},
    },
    "Study": {
        "type": "object",
        "required": ["schema", "version", "figures", "series", "flags"],
        "properties": {
            "schema": {"const": "pretreat-study-1"},
            "version": _TEXT,
            "figures": {
                "type": "object",
                "additionalProperties": {
                    "type": "object",
                    "properties": {
                        "value": {"type": ["number", "string", "null"]},
                        "unit": _TEXT,
                        "label": _TEXT,
                        "origin": {"enum": ["measured", "calculated", "assumed", "chosen"]},
                        "below": _NUMBER,
                        "p10": _NUMBER,
                        "p90": _NUMBER,
                    },
                },
            },
            "series": {"type": "object"},
            "flags": {
                "type": "array",
                "items": {
                    "type": "object",
                    "properties": {
                        "code": _TEXT,
                        "level": {"enum": ["info", "caution", "warning"]},
                        "text": _TEXT,
                        "figure": {"type": ["string", "null"]},
                    },
                },
            },
        },
    },
}


def description() -> dict[str, Any]:
    """Return the description of the interface.

    Returns
    -------
    dict
        OpenAPI 3.1. [-]
    """
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "pretreat",
            "version": __version__,
            "summary": "Scaling and pretreatment sizing for small reverse-osmosis machines.",
            "description": "Stateless: what is sent is computed and forgotten.",
        },
        "paths": {
            "/api/check": _form(
                "Read and judge a lab report", {"report": _REPORT, **_READING}, ["report"]
            ),
            "/api/scaling": _form(
                "Concentrate, scaling indexes and how far recovery may go", _SCALING, ["report"]
            ),
            "/api/size": _form("Size the whole train of a site", _SITE, ["site"]),
            "/api/rate": _form("Rate the vessels that are installed", _SITE, ["site"]),
            "/api/workbook": _document("The workbook of a study", _XLSX),
            "/api/quote": _document("The quote of a study, PDF", "application/pdf"),
            "/api/card": _document("The settings card of a study, PDF", "application/pdf"),
        },
        "components": {"schemas": _SCHEMAS},
    }
