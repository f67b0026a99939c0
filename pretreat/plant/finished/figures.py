"""The product behind calcite or a blend as figures: composition, calcite of a year, shares."""

import math
from typing import Any

import numpy as np
from msgspec import Struct

from pretreat.chemistry.ccpp import calcite_equilibrium
from pretreat.chemistry.indexes import langelier_phs
from pretreat.core.basis import Flag, Series, Value, citations
from pretreat.core.results import Ledger
from pretreat.core.units import molar_mass
from pretreat.lab.water_laws import hardness_mg_l_caco3
from pretreat.membrane.elements.product import Water
from pretreat.membrane.elements.remineralisation import (
    usual_share_of_co2,
    with_alkali,
)
from pretreat.membrane.feed import FeedWater
from pretreat.membrane.permeate import Permeate
from pretreat.plant.finished import laws
from pretreat.plant.finished.blend import enter_blend
from pretreat.plant.finished.calcite import (
    alkali_for_index_mmol_l,
    langelier,
    product_of,
    share_for_index,
)
from pretreat.site.design import DesignBasis
from pretreat.stages.neutralising_filter.calcite import saturated, with_dissolved
from pretreat.stages.product_degasser.figures import stripped

P = "remineralisation"
STRIPPED = "product_degasser.co2_mg_l"
FILTER = "neutralising_filter.media_volume_l"
FROM = ("product.co2_mg_l", "product.ca_mg_l", "product.alkalinity_mg_l_caco3", "product.ph")


class Asked(Struct, frozen=True):
    """A least value of the product: word of its key, name, unit, and the value wanted."""

    word: str
    label: str
    unit: str
    wanted: float | None


def asked_of(design: DesignBasis) -> tuple[Asked, ...]:
    """Return what is asked of the product, hardness, alkalinity and calcium."""
    use = design.product
    return (
        Asked("hardness_mg_l_caco3", "Hardness", "mg/L as CaCO3", use.least_hardness_mg_l_caco3),
        Asked(
            "alkalinity_mg_l_caco3", "Alkalinity", "mg/L as CaCO3", use.least_alkalinity_mg_l_caco3
        ),
        Asked("ca_mg_l", "Calcium", "mg/L", use.least_calcium_mg_l),
    )


def enter_finished(
    ledger: Ledger, made: Permeate | None, feed: FeedWater, design: DesignBasis
) -> Water | None:
    """Enter what makes the product fit for pipes, where the site asks for it or has a filter.

    Parameters
    ----------
    ledger : Ledger
        With train and product entered. [-]
    made : Permeate or None
        The product, None where it is not known. [-]
    feed : FeedWater
        Water onto the membranes, which a blend takes. [-]
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    Water or None
        The water behind the calcite, None where nothing was entered. [-]
    """
    asked = design.product.asks_for_minerals
    if not asked and (FILTER not in ledger or made is None):
        return None
    if made is None or any(ledger.number(key) is None for key in FROM):
        if asked:
            text = (
                "what makes the product fit for pipes is left open: calcium, alkalinity and "
                "carbon dioxide of the product are not known; give element or salt_passage in "
                "[machine], calcium and alkalinity in the analysis"
            )
            ledger.flag(Flag("remineralisation_open", "caution", text))
        return None
    product = _stripped(ledger, product_of(made))
    dissolved = _enter_calcite(ledger, product, design)
    share = _enter_share(ledger, product, dissolved, design)
    finished = _enter_behind(ledger, product, share * dissolved)
    _enter_short(ledger, design, finished)
    enter_blend(ledger, product, feed, design, asked_of(design))
    return finished


def _co2_key(ledger: Ledger) -> str:
    """Return the key of the carbon dioxide that reaches the calcite."""
    return STRIPPED if ledger.number(STRIPPED) is not None else FROM[0]


def _stripped(ledger: Ledger, product: Water) -> Water:
    """Return the product behind its degasser, where there is one."""
    left = ledger.number(STRIPPED)
    return product if left is None else stripped(product, left)


def _enter_calcite(ledger: Ledger, product: Water, design: DesignBasis) -> float:
    """Enter what the calcite adds; return it [mg/L as CaCO3]."""
    own = design.product.calcite_co2_share
    ledger.put(
        f"{P}.share_of_co2",
        usual_share_of_co2() if own is None else own,
        "-",
        "Share of the carbon dioxide that a calcite filter uses up",
        origin="assumed" if own is None else "chosen",
        evidence="common practice",
        cites=citations(usual_share_of_co2),
    )
    most, ph = saturated(product)
    for key, value, unit, label in (
        ("equilibrium_mg_l_caco3", most, "mg/L as CaCO3", "Calcite that the product can dissolve"),
        ("equilibrium_ph", ph, "-", "pH of the product at saturation with calcite"),
    ):
        ledger.put(
            f"{P}.{key}",
            value,
            unit,
            f"{label}, closed bed",
            method="closed equilibrium with calcite at the operating temperature",
            cites=citations(calcite_equilibrium),
        )
        ledger.rests(f"{P}.{key}", *FROM)
    dissolved = ledger.law(
        f"{P}.calcite_mg_l_caco3",
        laws.calcite_mg_l_caco3,
        co2_mg_l=_co2_key(ledger),
        share_of_co2=f"{P}.share_of_co2",
        equilibrium_mg_l_caco3=f"{P}.equilibrium_mg_l_caco3",
        label="Calcite that the product takes up in the filter",
        method="carbon dioxide to bicarbonate, saturation not exceeded",
    )
    text = (
        f"calcite: closed equilibrium would dissolve {most:.0f} mg/L and end at pH {ph:.1f}; a "
        f"filter of usual contact time uses {100.0 * (ledger.number(f'{P}.share_of_co2') or 0):.0f}"
        " % of the carbon dioxide (common practice): it is the speed of dissolution that limits, "
        "so measure hardness and pH behind the filter"
    )
    ledger.flag(Flag("calcite_kinetics", "info", text, f"{P}.calcite_mg_l_caco3"))
    return 0.0 if math.isnan(dissolved) else dissolved


def _enter_share(ledger: Ledger, product: Water, dissolved: float, design: DesignBasis) -> float:
    """Enter the share of the product that passes the calcite, the most that is asked; return it."""
    ledger.law(
        f"{P}.before_hardness_mg_l_caco3",
        hardness_mg_l_caco3,
        ca_mg_l="product.ca_mg_l",
        mg_mg_l="product.mg_mg_l" if "product.mg_mg_l" in ledger else 0.0,
        label="Hardness of the product of the membranes",
    )
    shares = []
    for one in asked_of(design):
        if one.wanted is None:
            continue
        before = _before(one)
        wanted = f"{P}.least_{one.word}"
        ledger.put(wanted, one.wanted, one.unit, f"{one.label} wanted, at least", origin="chosen")
        if dissolved > 0.0:
            key = f"{P}.share_for_{one.word.partition('_')[0]}"
            factor = laws.CALCIUM_SHARE if one.word == "ca_mg_l" else 1.0
            ledger.law(
                key,
                laws.share_of_added,
                wanted=wanted,
                before=before,
                added=f"{P}.calcite_mg_l_caco3",
                factor=factor,
                label=f"Share of the product through the calcite for {one.label.lower()}",
                unit="-",
            )
            shares.append(key)
    index = design.product.least_lsi
    if index is not None:
        ledger.put(f"{P}.least_lsi", index, "-", "Langelier index wanted", origin="chosen")
        found = share_for_index(product, dissolved, index)
        key = f"{P}.share_for_lsi"
        ledger.put(
            key,
            1.0 if found is None else found,
            "-",
            "Share of the product through the calcite for the Langelier index",
            method="on the mixed water; 1 where all of it is not enough",
            cites=citations(langelier_phs),
        )
        ledger.rests(key, f"{P}.calcite_mg_l_caco3", *FROM)
        shares.append(key)
    ledger.law(
        f"{P}.filter_share",
        laws.largest_share,
        shares=shares or [1.0],
        label="Share of the product through the calcite; the rest passes beside it",
        method="the largest that is asked" if shares else "all of it",
    )
    return ledger.number(f"{P}.filter_share") or 0.0


def _before(one: Asked) -> str:
    return f"{P}.before_{one.word}" if one.word.startswith("hard") else f"product.{one.word}"


def _enter_behind(ledger: Ledger, product: Water, dissolved: float) -> Water:
    """Enter the water behind, product through and beside the calcite mixed; return it."""
    share, added = f"{P}.filter_share", f"{P}.calcite_mg_l_caco3"
    for word, before, label in (
        ("hardness_mg_l_caco3", f"{P}.before_hardness_mg_l_caco3", "Hardness"),
        ("alkalinity_mg_l_caco3", "product.alkalinity_mg_l_caco3", "Alkalinity"),
    ):
        ledger.law(
            f"{P}.{word}",
            laws.behind,
            before=before,
            share=share,
            added=added,
            label=f"{label} of the product behind the calcite",
        )
    ledger.law(
        f"{P}.ca_mg_l",
        laws.calcium_behind_mg_l,
        before_mg_l="product.ca_mg_l",
        share=share,
        added=added,
        label="Calcium of the product behind the calcite",
    )
    ledger.law(
        f"{P}.calcite_kg_per_year",
        laws.calcite_kg_per_year,
        product_m3_d="machine.product_m3_d",
        days_per_year="machine.days_per_year",
        share=share,
        added_mg_l=added,
        label="Calcite used in a year, at the carbon dioxide that is used up",
    )
    finished = with_dissolved(product, dissolved)
    for word, value, unit, label in (
        ("ph", finished.ph, "-", "pH of the product behind the calcite"),
        ("co2_mg_l", finished.co2_mg_l, "mg/L", "Carbon dioxide left behind the calcite"),
        ("lsi", langelier(finished), "-", "Langelier index of the product behind the calcite"),
    ):
        ledger.put(
            f"{P}.{word}",
            float(np.asarray(value)),
            unit,
            label,
            method="from its own alkalinity and inorganic carbon, no gas lost",
            cites=citations(calcite_equilibrium, langelier_phs),
        )
        ledger.rests(f"{P}.{word}", share, added, *FROM)
    _enter_waters(ledger, product, finished)
    return finished


def _enter_waters(ledger: Ledger, product: Water, finished: Water) -> None:
    def number(value: Any) -> Value:
        found = float(np.asarray(value))
        return found if math.isfinite(found) else None

    rows: list[tuple[Value, ...]] = [
        (key, "mg/L", number(value), number(finished.water.mg_l[key]))
        for key, value in product.water.mg_l.items()
    ]
    rows += [
        (
            "alkalinity",
            "mg/L as CaCO3",
            number(product.water.alkalinity_mg_l_caco3),
            number(finished.water.alkalinity_mg_l_caco3),
        ),
        ("co2", "mg/L", number(product.co2_mg_l), number(finished.co2_mg_l)),
        ("ph", "-", number(product.ph), number(finished.ph)),
    ]
    ledger.table(
        Series(
            f"{P}.waters",
            "The product of the membranes and behind the calcite",
            ("constituent", "unit", "product", "behind"),
            ("-", "-", "", ""),
            tuple(rows),
            method="calcite dissolved in the share that passes it, mixed with the rest",
            cites=("STOICHIOMETRY",),
            headings=("Constituent", "Unit", "Product", "Behind the calcite"),
        )
    )


def _enter_short(ledger: Ledger, design: DesignBasis, finished: Water) -> None:
    """Say what the calcite does not reach, and what would: carbon dioxide, or alkali."""
    short = []
    for one in asked_of(design):
        reached = ledger.number(f"{P}.{one.word}")
        if one.wanted is None or reached is None or reached >= one.wanted * (1.0 - 1e-9):
            continue
        factor = laws.CALCIUM_SHARE if one.word == "ca_mg_l" else 1.0
        key = f"{P}.co2_lacking_for_{one.word.partition('_')[0]}_mg_l"
        lacking = ledger.law(
            key,
            laws.co2_lacking_mg_l,
            wanted=f"{P}.least_{one.word}",
            reached=f"{P}.{one.word}",
            factor=factor,
            share_of_co2=f"{P}.share_of_co2",
            label=f"Carbon dioxide that calcite would need besides, for {one.label.lower()}",
        )
        short.append(
            f"{one.label.lower()} {reached:.3g} of {one.wanted:.4g} {one.unit} (with "
            f"{lacking:.2g} mg/L more carbon dioxide ahead of the filter it would)"
        )
    if short:
        text = f"calcite alone does not bring the product to what is asked: {'; '.join(short)}"
        ledger.flag(Flag("remineralisation_short", "caution", text, f"{P}.filter_share"))
    _enter_alkali(ledger, design.product.least_lsi, finished)


def _enter_alkali(ledger: Ledger, wanted: float | None, finished: Water) -> None:
    """Enter the caustic soda for the Langelier index that the calcite leaves open."""
    reached = ledger.number(f"{P}.lsi")
    if wanted is None or (reached is not None and reached >= wanted - 1e-6):
        return
    dose = alkali_for_index_mmol_l(finished, wanted)
    behind = None if dose is None else with_alkali(finished, dose)
    for word, value, unit, label in (
        (
            "naoh_mg_l",
            None if dose is None else dose * molar_mass("NaOH"),
            "mg/L",
            "Caustic soda behind the calcite for the Langelier index, pure",
        ),
        (
            "ph_with_alkali",
            None if behind is None else float(np.asarray(behind.ph)),
            "-",
            "pH of the product with that alkali",
        ),
    ):
        ledger.put(f"{P}.{word}", value, unit, label, cites=citations(langelier_phs))
        ledger.rests(f"{P}.{word}", f"{P}.lsi", f"{P}.least_lsi", *FROM)
    how = "no alkali" if dose is None else f"{dose * molar_mass('NaOH'):.1f} mg/L of caustic soda"
    text = (
        f"a Langelier index of {wanted:g} is not reached behind the calcite: {reached or 0.0:.2f}; "
        f"{how} behind it would do; alkali burns: by the safety sheet and local codes"
    )
    ledger.flag(Flag("remineralisation_short", "caution", text, f"{P}.lsi"))
