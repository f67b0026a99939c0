"""The iron filter's oxidant, its regeneration steps and its waste."""

from pretreat.core.basis import Series
from pretreat.core.errors import DesignError
from pretreat.stages.bed.programme import DAYS_PER_WEEK
from pretreat.stages.decisions import Question, free_chlorine_mg_l
from pretreat.stages.iron_filter import laws as sizing
from pretreat.stages.iron_filter.oxidation import (
    alkalinity_per_mg,
    oxidant_demand_mg_l,
    oxidant_per_mg,
    permanganate_rule_mg_l,
)
from pretreat.stages.limits import train_limits
from pretreat.stages.train import Train

P = "iron_filter"
MUCH_IRON_MG_L = 1.0  # PRACTICE: 1 to 3 mg/L, the low end


def enter_oxidant(train: Train, load: sizing.FilterLoad) -> None:
    """Enter the oxidant: per regeneration for an intermittent filter, else as a feed."""
    entries, choice = train.entries, train.design.iron_filter
    demand = oxidant_demand_mg_l(load.iron_dissolved_mg_l, load.manganese_dissolved_mg_l,
                                 load.h2s_mg_l, choice.oxidant)  # fmt: skip
    terms = [
        f"{{{entries.dissolved(train.raw, ion)}}}*{oxidant_per_mg(ion, choice.oxidant)!r}"
        for ion in ("fe", "mn")
    ]
    if load.h2s_mg_l:
        terms.append(f"{{train.h2s_mg_l}}*{oxidant_per_mg('h2s', choice.oxidant)!r}")
    entries.calc(f"{P}.oxidant_demand_mg_l", demand, "mg/L",
                 f"Oxidant the water needs ({choice.oxidant})", "+".join(terms),
                 by=(oxidant_demand_mg_l,), method="electron balance, sulfide to sulfur",
    )  # fmt: skip
    used = sum(
        amount * alkalinity_per_mg(ion, choice.oxidant)
        for ion, amount in (("fe", load.iron_dissolved_mg_l), ("mn", load.manganese_dissolved_mg_l))
    )
    entries.calc(f"{P}.alkalinity_used_mg_l_caco3", used, "mg/L as CaCO3",
                 "Alkalinity used by the oxidation",
                 "+".join(f"{{{entries.dissolved(train.raw, ion)}}}"
                          f"*{alkalinity_per_mg(ion, choice.oxidant)!r}" for ion in ("fe", "mn")),
                 by=(alkalinity_per_mg,),
                 method="shown; the scaling keeps the full alkalinity, which is on the safe side",
    )  # fmt: skip
    if choice.regeneration == "intermittent" and choice.oxidant == "permanganate":
        _enter_permanganate(train, demand)
        _note_continuous(train, load)
    elif choice.regeneration == "intermittent":
        raise DesignError(
            f'[iron_filter] oxidant = "{choice.oxidant}" with regeneration = "intermittent": only '
            'permanganate restores the medium in place; write regeneration = "continuous"'
        )
    else:
        _enter_feed(train, load, demand)


def _enter_permanganate(train: Train, demand: float) -> None:
    entries, choice = train.entries, train.design.iron_filter
    origin = train.design.origin(f"{P}.permanganate_dose_g_l")
    dose = entries.given(f"{P}.permanganate_dose_g_l", choice.permanganate_dose_g_l, "g/L",
                         "Permanganate per litre of medium", origin=origin, evidence="memory",
                         cites=("MEMORY",) if origin == "assumed" else (),
                         method="1.5 to 2 oz per ft3")  # fmt: skip
    grams = entries.calc(f"{P}.permanganate_g_per_regeneration",
                         dose * entries.value(f"{P}.media_volume_l"), "g",
                         "Permanganate per regeneration",
                         f"{{{P}.permanganate_dose_g_l}}*{{{P}.media_volume_l}}",
                         method="dose times medium")  # fmt: skip
    per_year = entries.ledger.number(f"{P}.regenerations_per_year")
    per_week = f"{{{P}.regenerations_per_week}}"
    entries.calc(f"{P}.permanganate_kg_per_year",
                 None if per_year is None else grams * per_year / 1000.0, "kg/year",
                 "Permanganate per year",
                 f'IF({{{P}.regenerations_per_year}}="","",{{{P}.permanganate_g_per_regeneration}}'
                 f"*{{{P}.regenerations_per_year}}/1000)", method="regenerations times grams",
    )  # fmt: skip
    if per_year is None:
        return
    feed = entries.value("machine.feed_m3_d")
    week = entries.value(f"{P}.regenerations_per_week")
    need = entries.calc(f"{P}.permanganate_needed_g_per_regeneration", demand * feed * 7.0 / week,
                        "g", "Permanganate needed per regeneration, stoichiometric",
                        f'IF({per_week}="","",{{{P}.oxidant_demand_mg_l}}*{{machine.feed_m3_d}}*7'
                        f"/{per_week})", method="demand of the water of a mean run")  # fmt: skip
    if grams > sizing.MUCH_PERMANGANATE * need:
        entries.flag("permanganate_high", "info" if origin == "assumed" else "caution",
                     f"{grams:.0f} g of permanganate per regeneration is {grams / need:.0f} times "
                     f"the {need:.0f} g the water needs{_spared(train, week)}; "
                     f"{_saving(train, grams, need)}; rinse until no pink shows",
                     f"{P}.permanganate_g_per_regeneration")  # fmt: skip
    elif grams < need:
        entries.flag("permanganate_low", "warning",
                     f"{grams:.0f} g of permanganate per regeneration is below the {need:.0f} g "
                     "the water needs: raise the dose or regenerate oftener",
                     f"{P}.permanganate_g_per_regeneration")  # fmt: skip


def _saving(train: Train, grams: float, need: float) -> str:
    """Return what a dose of three times the need would save in a year, as part of a sentence."""
    enough = sizing.MUCH_PERMANGANATE * need
    saved = (grams - enough) * train.entries.value(f"{P}.regenerations_per_year") / 1000.0
    litres = train.entries.value(f"{P}.media_volume_l")
    return (
        f"three times the need is {enough:.0f} g ({enough / litres:.2g} g/L of medium) and saves "
        f"{saved:.0f} kg a year"
    )


def _note_continuous(train: Train, load: sizing.FilterLoad) -> None:
    """Say where a continuous feed usually suits better than regenerating in place."""
    if load.iron_dissolved_mg_l <= MUCH_IRON_MG_L:
        return
    train.entries.flag("continuous_feed", "info",
                       f"dissolved iron is {load.iron_dissolved_mg_l:.2g} mg/L; above about 1 to 3 "
                       "mg/L oxidant is usually fed continuously ahead of the filter (common "
                       'practice): [iron_filter] regeneration = "continuous" shows it',
                       f"{P}.regeneration")  # fmt: skip


def _spared(train: Train, per_week: float) -> str:
    """Return how often the permanganate would do, as part of a sentence."""
    run = train.entries.ledger.number(f"{P}.oxidation_run_h")
    every = 0
    if run is not None:
        days = run / train.entries.value("machine.hours_per_day")
        every = int(days * per_week / DAYS_PER_WEEK)
    if every < 2:
        return ": use less"
    return (
        f": the solids ask for the backwash, the medium itself lasts {every} of them; use less, or "
        f"draw permanganate at every {ordinal(every)} backwash only"
    )


def ordinal(number: int) -> str:
    """Return a whole number above 1 as the word that counts, such as 2nd or 4th."""
    endings = {1: "st", 2: "nd", 3: "rd"}
    teens = number % 100 in range(11, 14)
    return f"{number}{'th' if teens else endings.get(number % 10, 'th')}"


def _enter_feed(train: Train, load: sizing.FilterLoad, demand: float) -> None:
    entries, choice = train.entries, train.design.iron_filter
    if choice.oxidant == "permanganate":
        rule = permanganate_rule_mg_l(load.iron_dissolved_mg_l, load.manganese_dissolved_mg_l,
                                      load.h2s_mg_l)  # fmt: skip
        entries.calc(f"{P}.permanganate_rule_mg_l", rule, "mg/L",
                     "Permanganate by the trade's rule Fe + 2 Mn + 5 H2S",
                     by=(permanganate_rule_mg_l,), evidence="memory",
                     inputs=(f"{P}.oxidant_demand_mg_l",))  # fmt: skip
    residual = _enter_residual(train)
    water = entries.value("machine.feed_m3_d") * entries.value("machine.days_per_year")
    fed = f"{{{P}.oxidant_demand_mg_l}}"
    if choice.oxidant == "chlorine":
        fed = f"({fed}+{{{P}.oxidant_residual_mg_l}})"
    entries.calc(f"{P}.oxidant_kg_per_year", (demand + residual) * water / 1000.0, "kg/year",
                 f"Oxidant fed per year ({choice.oxidant})",
                 f"{fed}*{{machine.feed_m3_d}}*{{machine.days_per_year}}/1000",
                 method="demand and residual" if choice.oxidant == "chlorine"
                 else "stoichiometric; a residual comes on top")  # fmt: skip
    _enter_detention(train)


def _enter_residual(train: Train) -> float:
    """Enter the free chlorine kept over the medium, which is fed on top of the demand."""
    if train.design.iron_filter.oxidant != "chlorine":
        return 0.0
    kept = free_chlorine_mg_l(Question(train.raw, train.design, train.mode))
    chosen = train.design.carbon.free_chlorine_mg_l is not None
    return train.entries.given(
        f"{P}.oxidant_residual_mg_l", max(kept - train.raw.free_chlorine_mg_l, 0.0), "mg/L",
        "Chlorine fed on top, for the residual over the medium",
        origin="chosen" if chosen else "assumed", cites=() if chosen else ("OPFLOW2021",),
        method="0.5 to 1.0 mg/L kept over the medium, less what the raw water brings",
    )  # fmt: skip


def _enter_detention(train: Train) -> None:
    """Enter the time and volume between the feed of the oxidant and the filter."""
    entries, limit = train.entries, train_limits()["detention"]
    minutes = entries.given(f"{P}.detention_min", limit.value, limit.unit,
                            "Detention between oxidant and filter", evidence=limit.evidence,
                            cites=(limit.source,), method=f"{limit.where}: {limit.meaning}",
    )  # fmt: skip
    volume = entries.calc(f"{P}.detention_m3",
                          entries.value("machine.feed_flow_m3_h") * minutes / 60.0, "m3",
                          "Tank for the detention",
                          f"{{machine.feed_flow_m3_h}}*{{{P}.detention_min}}/60",
                          method="feed flow times detention")  # fmt: skip
    tank = train.design.supply.raw_tank_volume_m3
    if tank is None or tank < volume:
        entries.flag("detention_short", "caution",
                     f"iron filter: {minutes:g} min of detention behind the oxidant take "
                     f"{volume:.2f} m3 (municipal code, unless a pilot shows less); "
                     + ("no tank is described" if tank is None else f"the raw tank holds {tank:g}")
                     + ": dose ahead of a tank, or pilot", f"{P}.detention_m3")  # fmt: skip


def enter_filter_waste(train: Train) -> None:
    """Enter steps and waste of a regeneration of the iron filter."""
    entries = train.entries
    intermittent = train.design.iron_filter.regeneration == "intermittent"
    entries.given(f"{P}.backwash_min", sizing.BACKWASH_MIN, "min", "Iron filter: backwash",
                  evidence="memory", cites=("MEMORY",), method="10 to 15 min")  # fmt: skip
    rinse = sizing.RINSE_MIN if intermittent else sizing.SHORT_RINSE_MIN
    entries.given(f"{P}.rinse_min", rinse, "min", "Iron filter: rinse at the service flow",
                  evidence="memory", cites=("MEMORY",), method="until no pink shows")  # fmt: skip
    draw_min, draw_bv = (sizing.DRAW_MIN, sizing.DRAW_BV) if intermittent else (0.0, 0.0)
    entries.given(f"{P}.draw_min", draw_min, "min", "Permanganate draw and displacement",
                  evidence="memory", cites=("MEMORY",))  # fmt: skip
    entries.given(f"{P}.draw_bv", draw_bv, "BV", "Water of draw and displacement")
    entries.calc(f"{P}.regeneration_min", sizing.BACKWASH_MIN + draw_min + rinse, "min",
                 "Iron filter: out of service",
                 f"{{{P}.backwash_min}}+{{{P}.draw_min}}+{{{P}.rinse_min}}",
                 method="sum of the steps")  # fmt: skip
    number, flow = (
        entries.value(f"{P}.vessels_in_service"),
        entries.value(f"{P}.backwash_flow_m3_h"),
    )
    volume, feed = entries.value(f"{P}.media_volume_l"), entries.value("machine.feed_flow_m3_h")
    waste = number * flow * sizing.BACKWASH_MIN / 60.0 + feed * rinse / 60.0
    entries.calc(f"{P}.waste_m3_per_regeneration", waste + volume / 1000.0 * draw_bv, "m3",
                 "Iron filter: waste per regeneration",
                 f"{{{P}.vessels_in_service}}*{{{P}.backwash_flow_m3_h}}*{{{P}.backwash_min}}/60"
                 f"+{{machine.feed_flow_m3_h}}*{{{P}.rinse_min}}/60"
                 f"+{{{P}.media_volume_l}}/1000*{{{P}.draw_bv}}",
                 method="backwash, rinse and draw")  # fmt: skip


def enter_filter_settings(train: Train) -> None:
    """Enter what a technician keys in, for one vessel."""
    entries = train.entries
    number = entries.value(f"{P}.vessels_in_service")
    wash, feed = entries.value(f"{P}.backwash_flow_m3_h"), entries.value("machine.feed_flow_m3_h")
    draw_min = entries.value(f"{P}.draw_min")
    draw_l = entries.value(f"{P}.media_volume_l") / number * entries.value(f"{P}.draw_bv")
    steps = [("backwash", entries.value(f"{P}.backwash_min"), wash * 1000.0 / 60.0)]
    if draw_min:
        steps.append(("permanganate draw and displacement", draw_min, draw_l / draw_min))
    steps.append(("rinse until no pink shows", entries.value(f"{P}.rinse_min"),
                  feed / number * 1000.0 / 60.0))  # fmt: skip
    entries.ledger.table(
        Series(f"{P}.settings", "Settings of the iron filter's valve, one vessel",
               ("step", "set_min", "flow_l_min", "volume_l"), ("-", "min", "L/min", "L"),
               tuple((name, m, flow, m * flow) for name, m, flow in steps),
               headings=("Step", "Key in", "Flow", "Volume"), cites=("MEMORY",),
               method="membranes stopped or fed from storage meanwhile")
    )  # fmt: skip
