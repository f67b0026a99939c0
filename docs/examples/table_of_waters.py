"""The maximum recovery of many waters, a frame in and a frame out."""

import pandas as pd

from pretreat import screen
from pretreat.site.design import LimitChoices

wells = pd.DataFrame(
    {
        "id": ["north", "south", "east"],
        "pH": [7.3, 7.9, 7.6],
        "Ca": [90, 40, 150],
        "Mg": [20, 10, 45],
        "Na": [40, 30, 120],
        "Cl": [60, 20, 180],
        "SO4": [60, 25, 310],
        "Ba": [0.05, 0.02, "<0.01"],
        "SiO2": [18, 35, 12],
        "Alkalinity [mg/L as CaCO3]": [250, 120, 260],
    }
)
found = screen(wells, [0.5, 0.75], limits=LimitChoices(inhibitor=True))
print(found[["id", "recovery", "limited_by", "max_recovery"]].round(3).to_string(index=False))
