"""The machine in numbers: elements, arrays, flux, pressure, energy, product and its targets.

Floats or numpy arrays that broadcast (waters x temperatures x settings); nothing here knows a
site file, a stage or a plant. ``operate`` is the entry: an array, a membrane, a feed and a duty
give flux, pressures, passage per ion and the permeate.
"""
