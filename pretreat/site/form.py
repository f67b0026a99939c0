"""The commented site file that the command ``new`` writes."""

SITE_FORM = """# Site file. Quantities are texts with a unit ("1.6 m3/h", "6 gpm", "24 in"), or bare
# numbers where the unit is part of the key (salt_dose_g_l = 160). Lines that start with #
# are comments; take the # away to use them. In US units, for example:
#   product_flow = "7 gpm"    resin_volume = "5 ft3"    vessel_diameter = "16 in"
#   salt_per_regeneration = "50 lb"    pump_pressure = "50 psi"    hardness = "21 gpg"

[site]
name = "my site"
# place = ""
# prepared_for = ""
# prepared_by = ""

[water]
analysis = "{analysis}"               # relative to this file
# With a test kit only, leave the line above out and give:
# hardness = "21 gpg"                   # or "360 mg/L"
# iron = "1.5 mg/L"
# manganese = "0.2 mg/L"
# operating_temperature_c = 16
# coldest_temperature_c = 12
# warmest_temperature_c = 22
# non_detects_scaling = "limit"         # limit, half or zero
# uncertainty_pct = { ca = 6, alkalinity = 8 }  # of the laboratory, k = 2, %; or one for all
# sample = "well 2, June"               # which analysis of a report that holds several
# column = "Your water"                 # its column of results, where `check` had to guess
# unit = "mg/L; Iron = ug/L"            # of results without a unit; of single analytes
# design_water = "sample"               # or, of several samples of this site: "severe sample"
#                                       # (a real one), "envelope" (each analyte at its
#                                       # highest), "percentile" (each at its own)
# percentile = 90                       # for "severe sample" and "percentile"

[machine]
product_flow = "1.6 m3/h"               # while running; or in US units: "7 gpm"
recovery = 0.65                         # product / feed
hours_per_day = 20
# days_per_year = 365
# recovery_range = [0.5, 0.75]          # what its valves allow
# recycle_flow = "0 m3/h"
# salt_passage = 0                      # a number, "generic", or a table per ion
# element = "4x40"                      # nominal inches (2.5x40, 4x40, 8x40), and/or the area:
# element_area = "7.4 m2"               # of one element; with either the pressure, the pump's
#                                       # energy and the product water are calculated
# array = [2, 1]                        # vessels per stage; chosen from the flux if left out
# elements_per_vessel = 3               # with array
# water_permeability_lmh_bar = 4.0      # of the membrane at 25 C, L/(m2 h bar)
# salt_permeability_lmh = 0.3           # sodium chloride at 25 C, L/(m2 h); or a table per ion
# product_pressure = "0.5 bar"
# interstage_loss = "0.2 bar"
# feed_kind = "well"                    # well, filtered or surface: usual flux, element recovery
# flux_l_m2_h = 22                      # for choosing the array
# max_element_recovery = 0.18
# vessel_pressure = "21 bar"
# wall = "recovery"                     # or "film", the cautious form of polarisation
# pump_efficiency = 0.5
# motor_efficiency = 0.8
# suction_pressure = "1.5 bar"

# [product]                             # what the product is for
# target = "drinking"                   # drinking, irrigation, sprinkler or process
# jurisdiction = "us"                   # whose limits: us, eu, eu98, who (drinking)

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
# salt_per_regeneration = "15 kg"       # or this, or both lines below: what the valve refills
# refill_minutes = 10
# refill_flow = "0.5 gpm"
# reserve = 0.2
# capacity_factor = 1.0                 # an old resin is less
# control = "calendar"                  # or "meter"
# arrangement = "simplex"               # or "duplex", "lead-lag"
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

[prices]                                # what is not given stays a visible gap in the quote;
#                                       # write the number after = and take the # away
# currency = "EUR"
# salt_per_kg =                         # per kg
# permanganate_per_kg =                 # per kg
# resin_per_l =                         # per L
# iron_media_per_l =                    # per L
# carbon_per_l =                        # per L
# multimedia_per_l =                    # per L
# gravel_per_kg =                       # per kg
# cartridge_each =                      # per piece
# inhibitor_per_kg =                    # per kg
# acid_per_kg =                         # per kg, as 100 %
# water_per_m3 =                        # per m3
# drain_per_m3 =                        # per m3
# energy_per_kwh =                      # per kWh
# labour_per_h =                        # per h
# downtime_per_h =                      # per h
# freight =                             # per delivery
# disposal_per_l =                      # per L
# discount_rate = 0.05                  # a year; for the present value
# valid_days = 60
"""

QUOTE_FORM = """
[packages]                              # own packages, where they differ from the usual ones
# salt = "20 kg"
# resin = { size = "1 ft3", package = "box", price = 95.00 }    # price of one package

[quote]                                 # for the command quote and the sheet of that name
# customer = ""
# address = ["", ""]                    # one text a line
# number = ""
# date = 2031-05-14                     # the day of the run if left out
# valid_days = 30
# letterhead = ["", ""]                 # name first, then address and contact
# logo = "logo.png"                     # PNG or JPEG, at most 2 MiB
# language = "en"                       # en, es or de
# currency = "EUR"
# tax_percent = 19                      # or by item: { default = 21, labour = 10 }
# discount_percent = 5
# margin_percent = 30                   # of the price: [prices] are costs then
# terms = ""                            # payment
# delivery = ""
# exclusions = ["", ""]
# visits_per_year = 4                   # 0 for none; as the cartridges ask if left out
# consumables = "optional"              # supplies of a year: optional, included or none
# lines = [{ text = "Valve head", price = 120, quantity = 1, unit = "piece", optional = true }]
# accept_verdict = true                 # quote although the water does not fit
# font = "letters.ttf"                  # for names in letters that the built-in font lacks
"""


def site_form(analysis: str, of_stages: str = "") -> str:
    """Return the site file to fill in.

    Parameters
    ----------
    analysis : str
        Name of the analysis file. [-]
    of_stages : str
        Commented tables of unit processes, put ahead of the limits. [-]

    Returns
    -------
    str
        TOML text. [-]
    """
    head, mark, rest = SITE_FORM.format(analysis=analysis).partition("[limits]")
    return f"{head}{of_stages}{mark}{rest}{QUOTE_FORM}"
