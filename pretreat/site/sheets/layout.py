"""Where things stand in the form: columns, headings, sheets."""

from types import MappingProxyType

HEADINGS = ("What", "Value", "Unit", "Help", "Key")
WHAT, VALUE, UNIT, HELP, KEY = range(5)  # columns from 0
HEAD_ROW = 4  # from 0
ANALYSIS = "Analysis"  # the sheet of the lab's results in the same workbook
SHEETS = ("Site", "Water", "Vessels", "Prices", "More")
TITLES = MappingProxyType(
    {
        "Site": "The site and its machine",
        "Water": "The water: a test kit, or a lab report",
        "Vessels": "What treats the water: vessels that stand there, or wishes",
        "Prices": "Prices",
        "More": "Dosing, tanks and a fixed train",
    }
)
INTRODUCTIONS = MappingProxyType(
    {
        "Site": "Fill in the bold lines; the others where they are known. Leave blank what is not.",
        "Water": (
            "Lab report: fill in the sheet Analysis, or name the file here. Test kit: the hardness "
            "is enough to rate vessels that stand there."
        ),
        "Vessels": (
            'To rate vessels that stand there: nominal size ("10x54") or diameter, and what is '
            "filled in. To size new ones: leave blank."
        ),
        "Prices": "Without tax, in one currency. What is left blank stays a visible gap.",
        "More": "Only where such a stage stands there or is wanted.",
    }
)
NOTE = "A value may carry its own unit: 7 gpm. The last column is not to be changed."
# What a spreadsheet offers beside the unit of the key.
UNITS = MappingProxyType(
    {
        "m3/h": ("m3/h", "L/min", "gpm", "gpd"),
        "L/min": ("L/min", "gpm"),
        "L/h": ("L/h", "gpd"),
        "m3/d": ("m3/d", "gpd", "m3/h"),
        "bar": ("bar", "kPa", "psi"),
        "m3": ("m3", "L", "gal"),
        "L": ("L", "ft3", "gal"),
        "m": ("m", "mm", "in", "ft"),
        "m2": ("m2", "ft2"),
        "kg": ("kg", "lb"),
        "g/L": ("g/L", "lb/ft3", "oz/ft3"),
        "min": ("min", "h"),
        "°C": ("°C", "°F"),
        "mg/L": ("mg/L",),
        "mg/L as CaCO3": ("mg/L as CaCO3", "gpg", "°dH"),
        "µS/cm": ("µS/cm", "mS/cm"),
    }
)
