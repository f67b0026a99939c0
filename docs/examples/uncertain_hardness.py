"""How sure an interval is, if the load of hardness is known to ten percent."""

import numpy as np

from pretreat import rate

site = rate("water_analyses/quarrow_vale_installed.toml", draws=0)
load = site["softener.load_kg_caco3_d"].value
draws = np.random.default_rng(1).normal(load, 0.10 * load, 5_000)

interval = site.again({"softener.load_kg_caco3_d": draws})["softener.interval_d"].value
low, high = np.percentile(interval, [10, 90])
print(f"eight of ten between {low:.2f} and {high:.2f} d")
print(f"longer than 0.7 d in {100 * np.mean(interval > 0.7):.0f} % of the draws")
