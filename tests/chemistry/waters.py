"""Seeded, realistic waters of our own for tests: invented, in mg/L as the ion."""

import numpy as np

RANGES = {
    "ca": (15, 400), "mg": (4, 150), "na": (10, 1500), "k": (1, 40), "sr": (0.05, 12),
    "ba": (0.005, 0.4), "fe": (0.02, 6), "mn": (0.005, 1.2), "nh4": (0.02, 2), "so4": (5, 1800),
    "f": (0.1, 4), "no3": (0.2, 60), "sio2": (6, 90), "b": (0.02, 2), "po4": (0.02, 1),
}  # fmt: skip


def seeded_waters(n: int, seed: int = 20):
    """Return n waters: composition, alkalinity, pH, temperature; chloride closes the charge."""
    from pretreat.chemistry.composition import ion_sums_meq_l

    rng = np.random.default_rng(seed)
    mg_l = {k: np.exp(rng.uniform(np.log(a), np.log(b), n)) for k, (a, b) in RANGES.items()}
    alkalinity = np.exp(rng.uniform(np.log(40), np.log(500), n))
    cations, anions = ion_sums_meq_l(mg_l, alkalinity)
    lack = np.maximum(cations - anions, 0.15)
    mg_l["cl"] = lack * 35.45
    mg_l["na"] = mg_l["na"] + np.maximum(anions + lack - cations, 0.0) * 22.99
    return mg_l, alkalinity, rng.uniform(6.6, 8.4, n), rng.uniform(5, 30, n)
