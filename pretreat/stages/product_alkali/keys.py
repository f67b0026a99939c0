"""The choices for alkali fed into the product and their keys in the site file."""

from pretreat.site.keys import Table, plain, word
from pretreat.stages.dosing.figures import DELIVERED_KEY, FEEDER_KEYS, Feeder


class ProductAlkaliDesign(Feeder, frozen=True):
    """Choices for alkali fed into the product; without a dose, a share of its carbon dioxide."""

    base: str = "caustic"
    co2_bound: float | None = None


TABLE = Table(
    ProductAlkaliDesign,
    {
        **FEEDER_KEYS,
        **DELIVERED_KEY,
        "base": ("base", word("caustic", "soda_ash"), ""),
        **plain("co2_bound", 0.0, 1.0, open_low=True),
    },
)
