"""The commented site file that the command ``new`` writes."""

SITE_FORM = """# Site file. Quantities are texts with a unit ("1.6 m3/h", "6 gpm", "24 in"), or bare
# numbers where the unit is part of the key (salt_dose_g_l = 160). Lines that start with #
# are comments; take the # away to use them.

[site]
name = "my site"
# place = ""
# prepared_for = ""
# prepared_by = ""

[water]
analysis = "{analysis}"               # relative to this file
# With a test kit only, leave the line above out and give:
# hardness = "21 gpg"
# iron = "1.5 mg/L"
# manganese = "0.2 mg/L"
# operating_temperature_c = 16
# coldest_temperature_c = 12
# warmest_temperature_c = 22
# non_detects_scaling = "limit"         # limit, half or zero
# sample = "well 2, June"               # which analysis of a report that holds several
# design_water = "sample"               # or, of several samples of this site: "severe sample"
#                                       # (a real one), "envelope" (each analyte at its
#                                       # highest), "percentile" (each at its own)
# percentile = 90                       # for "severe sample" and "percentile"

[machine]
product_flow = "1.6 m3/h"               # while running
recovery = 0.65                         # product / feed
hours_per_day = 20
# days_per_year = 365
# recovery_range = [0.5, 0.75]          # what its valves allow
# recycle_flow = "0 m3/h"
# salt_passage = 0                      # a number, "generic", or a table per ion

[supply]                                # optional
# pump_flow = "6 m3/h"
# pump_pressure = "3.5 bar"
# well_yield = "4 m3/h"
# raw_tank_volume = "5 m3"
# product_tank_volume = "10 m3"
# demand = "20 m3/d"                    # product drawn; all that is made if left out
# demand_profile = "working day"        # level, working day, two shifts, household, or 24
#                                       # numbers from midnight on, in any unit

[softener]
# include = true                        # overrules the proposal
# salt_dose_g_l = 160                   # g NaCl per litre of resin
# salt_per_regeneration = "15 kg"       # or this, or refill_minutes with refill_flow
# reserve = 0.2
# capacity_factor = 1.0                 # an old resin is less
# regenerate_every_days = 1             # size: the interval wanted; rate: leave out
# resin_volume = "140 L"                # rate: what is installed
# vessel_diameter = "16 in"             # rate: what is installed

[iron_filter]
# include = true
# medium = "manganese greensand"
# regeneration = "intermittent"         # or "continuous"
# vessel_diameter = "24 in"             # rate: what is installed
# media_depth = "0.76 m"                # rate: what is installed
# permanganate_dose_g_l = 2.0

[carbon]
# include = true
# free_chlorine_mg_l = 0
# vessel_diameter = "18 in"
# media_volume = "140 L"

[limits]                                # scaling limits; defaults are saturation
# inhibitor = false
# lsi = 0.0
# pct_gypsum = 100

[prices]                                # what is not given stays a visible gap in the quote
# currency = "EUR"
# salt_per_kg = 0.0
# permanganate_per_kg = 0.0
# resin_per_l = 0.0
# iron_media_per_l = 0.0
# carbon_per_l = 0.0
# multimedia_per_l = 0.0
# gravel_per_kg = 0.0
# cartridge_each = 0.0
# inhibitor_per_kg = 0.0
# acid_per_kg = 0.0
# water_per_m3 = 0.0
# drain_per_m3 = 0.0
# energy_per_kwh = 0.0
# labour_per_h = 0.0
# downtime_per_h = 0.0
# freight = 0.0
# disposal_per_l = 0.0
# discount_rate = 0.05
# valid_days = 60
"""
