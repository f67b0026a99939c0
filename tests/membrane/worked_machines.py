"""Three worked machines, their invented feeds, and an element model written a second time.

The figures of the machines come from a separate script with the same equations: a regression
reference, no measurement. The second model here shares no property function with the program; it
writes viscosity, friction and osmotic pressure out again from the formulas in the docstrings.
"""

import numpy as np

from pretreat.membrane.elements.array import Array
from pretreat.membrane.elements.element import element
from pretreat.membrane.elements.operate import Duty

# mg/L, HCO3 is the alkalinity, Na closes the balance.
FA = {"ca": 2, "mg": 1, "na": 356.33, "k": 5, "hco3": 300, "cl": 300, "so4": 100, "no3": 20,
      "f": 0.5, "sio2": 20, "b": 0.2}  # fmt: skip
FB = {"ca": 3, "mg": 1.5, "na": 775.72, "k": 15, "hco3": 300, "cl": 760, "so4": 380, "no3": 5,
      "f": 1, "sio2": 25, "b": 0.6}  # fmt: skip
FC = {"ca": 120, "mg": 60, "na": 905.64, "k": 15, "hco3": 350, "cl": 1200, "so4": 500, "no3": 40,
      "f": 1.2, "sio2": 30, "b": 0.8}  # fmt: skip
FEED_PH = 7.5


def nacl(mg_l):
    return {"na": mg_l * 22.989769 / 58.439769, "cl": mg_l * 35.45 / 58.439769}


MACHINES = {
    "M1": (FA, 10.0, Array(element("2.5x40"), (1,), 2), Duty(0.10, 0.50, 0.16)),
    "M2": (FB, 18.0, Array(element("4x40"), (1,), 3), Duty(0.50, 0.65, 0.55)),
    "M3": (FC, 25.0, Array(element("4x40"), (2, 1), 6), Duty(3.0, 0.70, 0.0)),
}

MASS = {"ca": 40.078, "mg": 24.305, "na": 22.989769, "k": 39.0983, "hco3": 61.017, "cl": 35.45,
        "so4": 96.056, "no3": 62.004, "f": 18.998403, "sio2": 60.083, "b": 10.81}  # fmt: skip
CHARGE = {"ca": 2, "mg": 2, "na": 1, "k": 1, "hco3": -1, "cl": -1, "so4": -2, "no3": -1, "f": -1,
          "sio2": 0, "b": 0}  # fmt: skip
RELATIVE = {"ca": 0.2, "mg": 0.2, "so4": 0.1, "no3": 3.0, "sio2": 0.6}
BORON_LMH = 16.0


class SecondModel:
    """One water in a string of elements; arrays are ordered as ``keys``."""

    def __init__(self, mg_l, temp_c, area_m2, a=4.0, b=0.3, product_bar=0.5):
        self.keys = list(mg_l)
        self.feed = np.array([mg_l[k] / MASS[k] for k in self.keys])
        self.mass = np.array([MASS[k] for k in self.keys])
        self.charge = np.array([CHARGE[k] for k in self.keys], float)
        warm = 1.03 ** (temp_c - 25.0)
        self.a = a * warm
        self.b = warm * np.array(
            [BORON_LMH if k == "b" else b * RELATIVE.get(k, 1.0) for k in self.keys]
        )
        self.kelvin, self.area, self.back = temp_c + 273.15, area_m2, product_bar
        self.viscosity = 2.414e-5 * 10.0 ** (247.8 / (self.kelvin - 140.0))
        self.section = area_m2 / 1.8 * 0.00071 * 0.89

    def osmotic(self, amounts):
        return 0.93 * 0.0831446 * self.kelvin * amounts.sum() / 1000.0

    def drop(self, flow):
        u = flow / 3600.0 / self.section
        re = u * 1e-3 * 997.0 / self.viscosity
        return 6.23 * re**-0.3 * 997.0 * u * u / 2.0 * 0.9 / 1e-3 / 1e5

    def neutral(self, raw):
        """Scale a permeate to neutrality: cations by s, anions by 1/s."""
        cations = (self.charge * raw)[self.charge > 0].sum()
        anions = -(self.charge * raw)[self.charge < 0].sum()
        return raw * np.sqrt(anions / cations) ** np.sign(self.charge)

    def string(self, flow, bar, count):
        """Solve all elements at once by a hybrid Newton method: flux and permeate unknown."""
        from scipy.optimize import root

        n = len(self.keys)

        def walk(x):
            q, c, p, misses = flow, self.feed, bar, []
            for flux, passed in x:
                made = flux * self.area / 1000.0
                r = made / q
                beta = np.exp(0.7 * r)
                out = (q * c - made * passed) / (q - made)
                mean = (c + out) / 2.0
                loss = self.drop(q - made / 2.0)
                net = p - loss / 2.0 - self.back - beta * self.osmotic(mean) + self.osmotic(passed)
                raw = self.b * beta * mean / (flux + self.b)
                misses.append((self.a * net - flux, self.neutral(raw) - passed))
                q, c, p = q - made, out, p - loss
            return misses, (q, c, p)

        def unpack(v):
            v = v.reshape(count, n + 1)
            return [(row[0] * 20.0, row[1:] * self.feed * 0.02) for row in v]

        def equations(v):
            misses, _ = walk(unpack(v))
            return np.concatenate(
                [np.append(flux / 20.0, passed / (self.feed * 0.02)) for flux, passed in misses]
            )

        solution = root(equations, np.ones(count * (n + 1)), tol=1e-13)
        assert np.abs(equations(solution.x)).max() < 1e-9
        found = unpack(solution.x)
        _, (q, _, p) = walk(found)
        made = np.array([flux * self.area / 1000.0 for flux, _ in found])
        permeate = sum(m * passed for m, (_, passed) in zip(made, found, strict=True)) / made.sum()
        return made, permeate @ self.mass, p, q

    def continuous(self, flow, bar, count):
        """Integrate flow, salts and pressure along the string; the wall as one element's."""
        from scipy.integrate import solve_ivp

        area = self.area * count

        def local(q, c, p):
            flux, factor = 20.0, np.ones_like(c)
            for _ in range(60):
                beta = np.exp(0.7 * flux * self.area / 1000.0 / q)
                passed = factor * self.b * beta * c / (flux + self.b)
                passed = self.neutral(passed)
                net = p - self.back - beta * self.osmotic(c) + self.osmotic(passed)
                # half way: the plain fixed point swings where the osmotic pressure is high
                flux = 0.5 * (flux + self.a * net)
            return flux, passed

        def slopes(_, y):
            q, p = y[0], y[-1]
            flux, passed = local(q, y[1:-1] / q, p)
            made = flux * area / 1000.0
            return np.concatenate([[-made], -made * passed, [-count * self.drop(q)]])

        start = np.concatenate([[flow], flow * self.feed, [bar]])
        end = solve_ivp(slopes, (0.0, 1.0), start, method="DOP853", rtol=1e-9, atol=1e-10).y[:, -1]
        made = flow - end[0]
        permeate = (flow * self.feed - end[1:-1]) / made
        return made, permeate @ self.mass, end[-1]
