"""A plant of our own, rated by hand with a pocket calculator before the program was run.

Machine: product 1.2 m3/h at recovery 0.6, 12 h/d, 300 d/year: feed 1.2/0.6 = 2.0 m3/h,
24.0 m3/d. Water at 15 °C: Ca 80, Mg 20, Na 40, Sr 0.5, Ba 0.1, Fe 1.6 dissolved (2.0 total),
Mn 0.15 mg/L, pH 7.4.

Softener, 21 in, 200 L, 30 kg of salt:
  hardness  80 x 2.497 + 20 x 4.118 + 0.5 x 1.142 + 0.1 x 0.729        = 282.8 mg/L as CaCO3
  with      0.10 x 1.792 Fe + 0.05 x 1.822 Mn left by the filter       = 283.0
  load      24.0 x 0.2830                                              = 6.793 kg/d
  dose      30000/200 = 150 g/L; between 128.1 -> 51.5 and 160.2 -> 57.2 = 55.39 g/L
  usable    200 x 55.39 x 0.8 / 1000                                   = 8.862 kg
  interval  8.862/6.793 = 1.305 d -> daily; at 75 %                    = 0.978 d
  meter     8.862/0.2830                                               = 31.3 m3
  salt      30 x 7 x 300/7                                             = 9000 kg/year
  leakage   C_T = 282.8/50040 + 40/22990                               = 0.00739 eq/L
            Y = 1 - 55.39/100.08 = 0.4465; r = 0.4465/0.5535² x 0.00739/(2.606 x 2) = 0.002067
            X = r (1 - 2 r) = 0.002058; X C_T 50040                    = 0.761 mg/L
  sodium    (282.8 - 0.8) x 0.4594                                     = 129.6 mg/L added
  backwash  50 % growth at 15 °C: 12.2 m/h gives 47 %, 14.7 gives 57 % -> 12.95 m/h
            x 0.2235 m2                                                = 2.89 m3/h
  waste     2.89/6 + 0.2 x (150/107 + 2 + 5) = 0.482 + 1.680           = 2.16 m3
  minutes   10 + 30 + 2/1.402 x 30 + 5/14 x 60                         = 104 min
Iron filter, 24 in, 0.70 m of greensand:
  area 0.2919 m2; rate 2.0/0.2919                                      = 6.85 m/h
  solids    2.0 + 2 x 0.15 = 2.3; 349 x 0.2919/(2.0 x 2.3)             = 22.1 h
  medium    0.2919 x 700                                               = 204.3 L
  oxidation 1.6/1.34 + 0.15/0.67 = 1.418 L/m3; 204.3/(2.0 x 1.418)     = 72.0 h
  interval  22.1/12 = 1.845 d; with 2.16 m3/d for the softener x 24/26.16 = 1.692 d -> daily
  KMnO4     2.0 x 204.3 = 408.6 g; needed 24 x (1.6 x 0.943 + 0.15 x 1.918) = 43.1 g
Carbon, 142 L, 0.5 mg/L chlorine:
  contact   142/2000 x 60                                              = 4.26 min
  chlorine  142 x 480 x 1 x 0.5/(24 x 0.5) = 2840 d = 9.5 years, so practice governs: 2 years
Water: 24 + softener 2.16 + iron filter + carbon.
"""

import pytest

from pretreat.stages.stream import RawWater

WATER = RawWater(
    {"ca": 80.0, "mg": 20.0, "na": 40.0, "sr": 0.5, "ba": 0.1, "fe": 1.6, "mn": 0.15},
    {"fe": 2.0},
    ph=7.4,
    temperature_c=15.0,
    coldest_c=15.0,
    warmest_c=15.0,
)
SITE = {
    "machine": {"product_flow": "1.2 m3/h", "recovery": 0.6, "hours_per_day": 12.0,
                "days_per_year": 300},
    "softener": {"resin_volume": "200 L", "vessel_diameter": "21 in",
                 "salt_per_regeneration": "30 kg"},
    "iron_filter": {"vessel_diameter": "24 in", "media_depth": "0.70 m"},
    "carbon": {"media_volume": "142 L", "vessel_diameter": "18 in", "free_chlorine": "0.5 mg/L"},
}  # fmt: skip
BY_HAND = {
    "machine.feed_flow_m3_h": 2.0,
    "machine.feed_m3_d": 24.0,
    "softener.hardness_load_mg_l_caco3": 283.0,
    "softener.load_kg_caco3_d": 6.793,
    "softener.salt_dose_g_l": 150.0,
    "softener.capacity_g_caco3_l": 55.39,
    "softener.usable_capacity_kg_caco3": 8.862,
    "softener.interval_d": 1.305,
    "softener.interval_aged_d": 0.978,
    "softener.programme_days": 1.0,
    "softener.meter_setting_m3": 31.3,
    "softener.salt_kg_per_regeneration": 30.0,
    "softener.salt_kg_per_year": 9000.0,
    "softener.leakage_mg_l_caco3": 0.761,
    "softener.sodium_added_mg_l": 129.6,
    "softener.backwash_flow_m3_h": 2.89,
    "softener.waste_m3_per_regeneration": 2.16,
    "softener.regeneration_min": 104.0,
    "iron_filter.area_m2": 0.2919,
    "iron_filter.velocity_m_h": 6.85,
    "iron_filter.solids_run_h": 22.1,
    "iron_filter.media_volume_l": 204.3,
    "iron_filter.oxidation_run_h": 72.0,
    "iron_filter.interval_d": 1.845,
    "iron_filter.interval_all_water_d": 1.692,
    "iron_filter.programme_days": 1.0,
    "iron_filter.permanganate_g_per_regeneration": 408.6,
    "iron_filter.permanganate_needed_g_per_regeneration": 43.1,
    "carbon.ebct_min": 4.26,
    "carbon.chlorine_life_d": 2840.0,
    "carbon.life_years": 2.0,
}


def test_every_figure_of_the_hand(study_of, design_of):
    study, _ = study_of(WATER, design_of(**SITE), "rate")
    for key, value in BY_HAND.items():
        assert study.number(key) == pytest.approx(value, rel=0.01), key


def test_what_the_hand_would_say(study_of, design_of):
    study, treated = study_of(WATER, design_of(**SITE), "rate")
    codes = {flag.code for flag in study.flags}
    assert "permanganate_high" in codes  # nine times the need
    assert "contact_short" in codes  # 4.3 of 5 min
    assert treated.mg_l["ca"] == pytest.approx(80.0 * 0.761 / 282.8, rel=0.01)
    assert treated.mg_l["na"] == pytest.approx(40.0 + 129.6, rel=0.01)
    assert (treated.mg_l["fe"], treated.mg_l["mn"]) == (0.1, 0.05)
