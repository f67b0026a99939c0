"""The trains that are looked at for a water: a way for iron with a way for scale."""

from collections.abc import Iterator, Sequence
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from pretreat.core.errors import PretreatError
from pretreat.core.results import Ledger
from pretreat.plant.choices.table import (
    Facts,
    Option,
    failing,
    needed,
    of_tower,
    options,
    worded,
)
from pretreat.plant.unsafe import broken
from pretreat.site.design import DesignBasis
from pretreat.stages import BY_KEY, ORDER
from pretreat.stages.fixed import TrainDesign
from pretreat.stages.limits import train_limits
from pretreat.stages.stream import RawWater
from pretreat.stages.train import Entries, Train

COUNTER = "counter-current"
TOKEN = "dechlorinate"  # noqa: S105 - a word of the table: carbon or bisulfite
REMOVERS = ("carbon", "bisulfite")
ACID_WATER_PH = 6.8  # PRACTICE: below, the carbon dioxide of the product is seen to
FEW_CALCIUM_MG_L, FEW_ALKALINITY_MG_L = 60.0, 100.0  # MACKINTOSH2003: where calcite is feasible


class Candidate(Struct, frozen=True):
    """A train that is looked at: its stages in the order of flow, and why it cannot be.

    ``ahead`` are the stages of the way for iron (cartridge, tank and product side with it),
    ``way`` those that keep scale off.
    """

    keys: tuple[str, ...]
    ahead: tuple[str, ...]
    way: tuple[str, ...]
    iron: Option
    scale: Option
    why_not: str = ""
    needs: str = ""
    counter: bool = False  # its softener is regenerated against the flow
    left_out: str = ""  # what of the site file leaves it out, though nothing speaks against it

    @property
    def shut(self) -> bool:
        """Whether it cannot be taken as the site file stands."""
        return bool(self.why_not or self.left_out)

    @property
    def name(self) -> str:
        """The keys joined, as they are shown."""
        turned = {"softener": f"softener ({COUNTER})"} if self.counter else {}
        return " + ".join(turned.get(key, key) for key in self.keys)

    @property
    def inhibited(self) -> bool:
        """Whether the limits with an inhibitor hold."""
        return "inhibitor" in self.keys

    @property
    def soft(self) -> bool:
        """Whether a softener stands ahead of the membranes."""
        return "softener" in self.keys


def designed(design: DesignBasis, keys: Sequence[str], *parts: Option) -> DesignBasis:
    """Return the design with a train as its stages, and what the ways set.

    A choice of the site file is kept.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]
    keys : sequence of str
        Stages in the order of flow. [-]
    *parts : Option
        The ways that the train is made of. [-]

    Returns
    -------
    DesignBasis
        A copy. [-]
    """
    records: dict[str, Any] = {
        key: replace(record, include=key in keys)
        for key, record in design.stages.items()
        if "include" in getattr(record, "__struct_fields__", ())
    }
    for part in parts:
        for stage, name, value in part.settings:
            if f"{stage}.{name}" not in design.chosen:
                records[stage] = replace(records[stage], **{name: value})
    records["train"] = TrainDesign(tuple(keys), chosen=True)
    return design.with_stages(**records).change("limits", inhibitor="inhibitor" in keys)


def candidates(
    ledger: Ledger, raw: RawWater, design: DesignBasis, facts: Facts
) -> tuple[Candidate, ...]:
    """Return the trains that are looked at for a water.

    Parameters
    ----------
    ledger : Ledger
        The study so far. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices; what a table of the site file includes or leaves out is kept. [-]
    facts : mapping of str to float or None
        What the decision table asks for. [-]

    Returns
    -------
    tuple of Candidate
        Each once; those that cannot be have their reason. Those that the site file leaves out
        by putting a stage in stand behind them. [-]
    """
    fixed = forced(design)
    every = [o for o in options() if o.group == "scale" and not failing(o.when, facts)]
    turned = [o for o in every if _set_otherwise(o, design)]
    ways = [o for o in every if o not in turned]
    found = _found(ledger, raw, design, facts, (ways, fixed))
    others = [(ways, without, words) for without, words in _freer(design, fixed)]
    if turned and "softener.direction" not in design.chosen:
        others.append((turned, fixed, UNTURNED))
    for scales, without, words in others:
        for name, one in _found(ledger, raw, design, facts, (scales, without)).items():
            if name not in found and not one.why_not:
                found[name] = replace(one, left_out=words)
    return tuple(found.values())


UNTURNED = (
    "left out by the site file: [softener] is described without its direction; write "
    f'direction = "{COUNTER}" there to have it'
)


def _freer(design: DesignBasis, fixed: dict[str, bool]) -> Iterator[tuple[dict[str, bool], str]]:
    """Give what the site file fixes without one stage that it puts in, and how to ask for it."""
    for stage in (k for k, put in fixed.items() if put and BY_KEY[k].side == "feed"):
        prefix = f"{stage}."
        said = sorted(k.removeprefix(prefix) for k in design.chosen if k.startswith(prefix))
        by = f"[{stage}] puts one in ({', '.join(said)}); write include = false there"
        if not said:
            by = f"[limits] {stage} puts one in; write {stage} = false there"
        less = {k: put for k, put in fixed.items() if k != stage}
        yield less, f"left out by the site file: {by} to have this train"


def _found(
    ledger: Ledger,
    raw: RawWater,
    design: DesignBasis,
    facts: Facts,
    looked_at: tuple[Sequence[Option], dict[str, bool]],
) -> dict[str, Candidate]:
    """Return the trains of some ways for scale, with what is put in or left out, by name."""
    scales, fixed = looked_at
    found: dict[str, Candidate] = {}
    said: set[tuple[str, str]] = set()
    for iron in _irons(facts):
        shut = failing(iron.conditions, facts) or _contradicts(iron, design)
        for ahead in _ahead(iron, raw, facts, fixed):
            for scale in scales if not shut else scales[:1]:  # what is shut needs one row
                one = _candidate(iron, scale, ahead, raw, design, fixed)
                if not sensible(one.keys, fixed):
                    continue
                why = shut or failing(scale.conditions, facts)
                why = why or _unsafe(ledger, one, raw, design)
                if why and not shut:  # once for each way to keep scale off
                    if (scale.key, why) in said:
                        continue
                    said.add((scale.key, why))
                one = replace(one, why_not=why)
                if one.name not in found or (found[one.name].why_not and not why):
                    found[one.name] = one
    return found


ENOUGH = " (stripping lifts the pH far enough: no alkali)"


def without_alkali(one: Candidate) -> Candidate:
    """Return a candidate without its alkali, for which there is nothing to do.

    Parameters
    ----------
    one : Candidate
        With alkali ahead of the iron filter. [-]

    Returns
    -------
    Candidate
        The same otherwise. [-]
    """
    keys, ahead = (tuple(k for k in part if k != "alkali") for part in (one.keys, one.ahead))
    iron = replace(
        one.iron,
        name=one.iron.name.replace(", alkali", ""),
        stages=tuple(k for k in one.iron.stages if k != "alkali"),
        words=one.iron.words + ENOUGH,
    )
    return replace(one, keys=keys, ahead=ahead, iron=iron)


PAIRS = (("softener", "weak_acid"), ("softener", "acid"))  # each makes the other needless


# Where one of these holds no other way is looked at.
NEEDLESS = ("unfiltered", "unfiltered_some", "network", "particulate")


def _irons(facts: Facts) -> list[Option]:
    """Return the ways for iron that are looked at for a water."""
    rows = (worded(o, facts) for o in options() if o.group == "iron")
    found = [o for o in rows if not failing(o.when, facts)]
    return [o for o in found if o.key in NEEDLESS][:1] or found


def sensible(keys: Sequence[str], fixed: dict[str, bool]) -> bool:
    """Tell whether a train holds no two stages of which one is enough.

    Parameters
    ----------
    keys : sequence of str
        Its stages. [-]
    fixed : dict of str to bool
        What the site file puts in or leaves out; what it puts in is kept. [-]

    Returns
    -------
    bool
        False where both were put in by the program. [-]
    """
    return all(
        not {one, other} <= set(keys) or (fixed.get(one) and fixed.get(other))
        for one, other in PAIRS
    )


def forced(design: DesignBasis) -> dict[str, bool]:
    """Return the stages that the site file puts in the train, or leaves out, by hand.

    ``include`` says so; a table that describes a softener, a feed or a stage behind the
    membranes puts it in, as it always did.

    Parameters
    ----------
    design : DesignBasis
        The engineer's choices. [-]

    Returns
    -------
    dict of str to bool
        True is in, by key of the stage. [-]
    """
    found: dict[str, bool] = {}
    for stage in ORDER:
        wanted = getattr(design.stages.get(stage.key), "include", None)
        described = any(
            k.startswith(f"{stage.key}.") and k != f"{stage.key}.include" for k in design.chosen
        )
        puts_in = stage.optional or stage.key in {"softener", "neutralising_filter", "inhibitor"}
        if wanted is not None:
            found[stage.key] = wanted
        elif described and puts_in:
            found[stage.key] = True
    if "limits.inhibitor" in design.chosen or found.get("inhibitor"):
        found["inhibitor"] = design.limits.inhibitor
    return found


def _ahead(
    iron: Option, raw: RawWater, facts: Facts, fixed: dict[str, bool]
) -> Iterator[tuple[str, ...]]:
    """Give the stages of a way for iron: with carbon or bisulfite where chlorine goes."""
    keys = list(iron.stages)
    any_chlorine = (facts["any_chlorine"] or 0.0) > 0
    if any_chlorine and TOKEN not in keys and "carbon" not in keys:
        keys.append(TOKEN)
    limits = train_limits()
    cloudy = (raw.turbidity_ntu or 0.0) > limits["membrane_turbidity"].value
    fouls = cloudy or (raw.sdi or 0.0) > limits["membrane_sdi"].value
    if fouls and not {"iron_filter", "multimedia"} & set(keys):
        keys.append("multimedia")
    keys += ["cartridge", *_product_side(iron, raw, facts)]
    if TOKEN not in keys:
        yield tuple(keys)
        return
    removers = [r for r in REMOVERS if fixed.get(r)] or list(REMOVERS)
    for remover in removers:
        yield tuple(remover if key == TOKEN else key for key in keys)


def _product_side(iron: Option, raw: RawWater, facts: Facts) -> list[str]:
    """Return what the product needs of itself: gas that passed the membranes."""
    if iron.key == "closed_sulfide":
        return ["product_degasser"]
    if "aeration" in iron.stages or raw.ph is None or raw.ph >= ACID_WATER_PH:
        return []
    few = raw.mg_l.get("ca", 0.0) < FEW_CALCIUM_MG_L
    few = few and (facts["alkalinity"] or 0.0) < FEW_ALKALINITY_MG_L
    return ["neutralising_filter" if few else "product_degasser"]


def _candidate(
    iron: Option,
    scale: Option,
    ahead: tuple[str, ...],
    raw: RawWater,
    design: DesignBasis,
    fixed: dict[str, bool],
) -> Candidate:
    stored = design.supply.raw_tank_volume_m3 is not None or design.supply.vented_raw_tank
    ahead = (*(("raw_tank",) if stored else ()), *ahead)
    keys = {*ahead, *scale.stages, *(k for k, put in fixed.items() if put)}
    keys -= {k for k, put in fixed.items() if not put}
    if "softener" not in keys and not fixed.get("bypass"):
        keys.discard("bypass")  # there is nothing that it could pass
    way = tuple(k for k in in_flow(keys, raw, design, iron) if _of_way(k, ahead, iron))
    first = tuple(k for k in in_flow(keys, raw, design, iron) if k not in way)
    order = in_flow(keys, raw, design, iron)
    if FILTER in iron.stages and FILTER not in order:  # its words speak of a filter
        iron = replace(iron, words=WITHOUT_FILTER, needs="")
    needs = "; ".join(p for p in (needed(iron, design), scale.needs, *of_tower(order)) if p)
    turned = ("softener", "direction", COUNTER) in scale.settings
    own = "softener.direction" in design.chosen and design.softener.direction == COUNTER
    counter = "softener" in keys and (turned or own)
    return Candidate(order, first, way, iron, scale, "", needs, counter)


FILTER = "iron_filter"
WITHOUT_FILTER = "the filter that iron and manganese ask for is left out by the site file"
WAYS = frozenset({"softener", "bypass", "weak_acid", "degasser", "acid", "inhibitor"})


def _of_way(key: str, ahead: tuple[str, ...], iron: Option) -> bool:
    return key in WAYS and key not in iron.stages and key not in ahead


def in_flow(keys: set[str], raw: RawWater, design: DesignBasis, iron: Option) -> tuple[str, ...]:
    """Return stages in the order of flow of this water.

    Alkali for iron stands ahead of the oxidant; what takes chlorine stands ahead of the resin
    where more reaches it than resin takes.

    Parameters
    ----------
    keys : set of str
        The stages. [-]
    raw : RawWater
        The water ahead of the first stage. [-]
    design : DesignBasis
        The engineer's choices. [-]
    iron : Option
        The way for iron. [-]

    Returns
    -------
    tuple of str
        Keys. [-]
    """
    order = [stage.key for stage in ORDER if stage.key in keys]
    if "alkali" in iron.stages and "alkali" in order:
        order.remove("alkali")
        order.insert(order.index("aeration") + 1, "alkali")
    if {"multimedia", "iron_filter"} <= set(iron.stages):  # it spares the iron filter
        order.remove("multimedia")
        order.insert(order.index("iron_filter"), "multimedia")
    chlorine = max(raw.free_chlorine_mg_l, design.carbon.free_chlorine_mg_l or 0.0)
    early = chlorine > train_limits()["softener_chlorine"].value or "chlorine" in order
    own = design.carbon.before_softener
    if early if own is None else own:
        resins = [order.index(k) for k in ("softener", "weak_acid") if k in order]
        for remover in (r for r in REMOVERS if r in order and resins):
            if order.index(remover) > min(resins):
                order.remove(remover)
                order.insert(min(resins), remover)
    return tuple(order)


def _contradicts(iron: Option, design: DesignBasis) -> str:
    """Say where a way asks for a setting that the site file has otherwise."""
    for stage, name, value in iron.settings:
        own = getattr(design.stages[stage], name)
        if f"{stage}.{name}" in design.chosen and own != value:
            return f"the site file has [{stage}] {name} = {own}"
        if (name, value) == ("regeneration", "continuous") and _REGENERATES & design.chosen:
            return f"the site file has [{stage}] a dose for each regeneration"
    return ""


def _set_otherwise(scale: Option, design: DesignBasis) -> bool:
    """Tell whether the site file has the softener otherwise than a way for scale sets it.

    One that is described there without its direction is regenerated with the flow.
    """
    wanted = next((v for s, n, v in scale.settings if (s, n) == ("softener", "direction")), None)
    if wanted is None:
        return False
    if "softener.direction" in design.chosen:
        return bool(design.softener.direction != wanted)
    described = any(k.startswith("softener.") and k != "softener.include" for k in design.chosen)
    return described and wanted == COUNTER


_REGENERATES = {"iron_filter.permanganate_dose_g_l"}  # said of a bed that is regenerated


def _unsafe(ledger: Ledger, one: Candidate, raw: RawWater, design: DesignBasis) -> str:
    """Return the first rule of safety that a train breaks, in words; empty where none."""
    made = designed(design, one.keys, one.iron, one.scale)
    train = Train(Entries(ledger), raw, made, "size")
    feed = tuple(k for k in one.keys if BY_KEY[k].side == "feed")
    try:
        return next((text for level, text in broken(train, feed) if level == "warning"), "")
    except PretreatError as problem:  # one train that cannot be worked out refuses no water
        return f"cannot be worked out: {problem.faults[0]}"
