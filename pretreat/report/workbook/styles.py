"""Fonts, borders and fills of the workbook; nothing is said by colour alone."""

from collections.abc import Callable
from functools import cache
from typing import Any

FONT = "Arial"
BODY_SIZE = 9
INK = "#1F2A30"
RULE = "#9AA5AB"
HAIR = "#D3D9DC"
HEAD_FILL = "#E6EAEC"
INPUT_FILL = "#FBF5E0"
LINE_HEIGHT = 11.25  # 15 pixels: letters of 9 points take 10.4

Properties = dict[str, Any]

_BLOCK: Properties = {
    "bold": True,
    "font_size": 10,
    "bg_color": HEAD_FILL,
    "valign": "vcenter",
    "bottom": 1,
    "bottom_color": INK,
}
_ROLES: dict[str, Properties] = {
    "body": {},
    "title": {"bold": True, "font_size": 15},
    "subtitle": {"italic": True, "font_size": 9, "valign": "top", "text_wrap": True},
    "heading": {"bold": True, "font_size": 10, "bottom": 1, "bottom_color": INK},
    "head": {
        "bold": True,
        "bg_color": HEAD_FILL,
        "text_wrap": True,
        "valign": "vcenter",
        "bottom": 1,
        "bottom_color": INK,
    },
    "block": _BLOCK,  # alone in its row, so a long one runs on over the empty cells
    "block_beside": {**_BLOCK, "shrink": True},
    "head_number": {
        "bold": True,
        "bg_color": HEAD_FILL,
        "text_wrap": True,
        "align": "right",
        "valign": "vcenter",
        "bottom": 1,
        "bottom_color": INK,
    },
    "label": {"bottom": 1, "bottom_color": HAIR, "text_wrap": True},
    "text": {"bottom": 1, "bottom_color": HAIR},
    "unit": {"bottom": 1, "bottom_color": HAIR, "indent": 1},
    "head_unit": {
        "bold": True,
        "bg_color": HEAD_FILL,
        "indent": 1,
        "valign": "vcenter",
        "bottom": 1,
        "bottom_color": INK,
    },
    "head_cell": {
        "bold": True,
        "bg_color": HEAD_FILL,
        "text_wrap": True,
        "indent": 1,
        "valign": "vcenter",
        "bottom": 1,
        "bottom_color": INK,
    },
    "cell_text": {"bottom": 1, "bottom_color": HAIR, "text_wrap": True, "indent": 1},
    "wrapped": {"bottom": 1, "bottom_color": HAIR, "text_wrap": True},
    "changed": {"bold": True, "font_size": 9, "shrink": True, "font_color": "#8A1C1C"},
    "aside": {"font_size": 8, "indent": 1},
    "mark": {"bottom": 1, "bottom_color": HAIR, "font_size": 9, "shrink": True},
    "small": {"bottom": 1, "bottom_color": HAIR, "font_size": 8},
    "wrapped_small": {"bottom": 1, "bottom_color": HAIR, "font_size": 9, "text_wrap": True},
    "number_first": {"bottom": 1, "bottom_color": HAIR, "align": "left"},
    "number": {"bottom": 1, "bottom_color": HAIR, "align": "right"},
    "words": {"bottom": 1, "bottom_color": HAIR, "bold": True, "text_wrap": True, "indent": 1},
    "word": {"bottom": 1, "bottom_color": HAIR, "align": "right", "bold": True},
    "input": {
        "locked": False,
        "border": 1,
        "border_color": INK,
        "bg_color": INPUT_FILL,
        "align": "right",
    },
    "strong": {"bold": True, "bottom": 1, "bottom_color": HAIR},
    "strong_wrapped": {"bold": True, "bottom": 1, "bottom_color": HAIR, "text_wrap": True},
    "strong_number": {"bold": True, "bottom": 1, "bottom_color": HAIR, "align": "right"},
    "live_row": {"top": 1, "bottom": 1, "bold": True, "align": "right", "border_color": INK},
    "live_label": {"top": 1, "bottom": 1, "bold": True, "align": "left", "border_color": INK},
    "plain": {},
    "group": {"bold": True, "italic": True, "bottom": 1, "bottom_color": RULE, "valign": "bottom"},
    "verdict": {"font_size": 10, "text_wrap": True, "valign": "top"},
    "verdict_strong": {"bold": True, "font_size": 11, "text_wrap": True, "valign": "top"},
    "wrapped_strong": {"bold": True, "text_wrap": True},
    "level": {"bold": True, "bottom": 1, "bottom_color": HAIR},
    "front": {"text_wrap": True, "valign": "top"},
    "front_strong": {"bold": True, "text_wrap": True, "valign": "top"},
    "front_answer": {"bold": True, "font_size": 15, "text_wrap": True, "valign": "vcenter"},
    "front_label": {"bold": True, "bottom": 1, "bottom_color": HAIR, "valign": "top"},
    "front_rule": {"bottom": 1, "bottom_color": HAIR, "text_wrap": True, "valign": "top"},
    "front_box": {"border": 1, "border_color": INK, "text_wrap": True, "align": "center"},
    "front_link": {"underline": 1, "font_color": "#1B4965"},
    "signature": {"top": 1, "top_color": INK},
}


Styles = Callable[..., Any]  # a role, and a number format where one is given, to a format


def styles_of(workbook: Any) -> Styles:
    """Return the formats of one workbook, each made once.

    Parameters
    ----------
    workbook : object
        The workbook. [-]

    Returns
    -------
    callable
        Format of a role, with a number format where one is given. [-]
    """

    def made(role: str, number_format: str = "") -> Any:
        properties: Properties = {
            "font_name": FONT,
            "font_size": BODY_SIZE,
            "font_color": INK,
            "valign": "vcenter",
            **_ROLES[role],
        }
        if number_format:
            properties["num_format"] = number_format
        return workbook.add_format(properties)

    return cache(made)
