"""What is unsafe in a train put together by hand, from data/unsafe_trains.csv."""

from collections.abc import Iterator, Sequence
from typing import cast

from pretreat.core.basis import Level
from pretreat.core.tables import rows
from pretreat.plant.choices.table import needs_of
from pretreat.stages import BY_KEY
from pretreat.stages.fixed import by_hand, chosen_train
from pretreat.stages.limits import train_limits
from pretreat.stages.stage import Stage
from pretreat.stages.train import Train

FEEDS = {"chlorine": "chlorine", "permanganate": "permanganate"}  # stage -> what it adds
REDUCERS = ("carbon", "bisulfite")
AIRED = ("aeration", "degasser")
RESINS = ("softener", "weak_acid")
GAS_MG_L = 0.05  # PRACTICE: of sulfide; half a usual detection limit, some 10 ppm above it


def enter_unsafe(train: Train, present: Sequence[Stage]) -> None:
    """Flag what is unsafe in a train that the engineer fixed, or added to.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    present : sequence of Stage
        Stages in the order of flow. [-]
    """
    keys, own = tuple(stage.key for stage in present if stage.side == "feed"), by_hand(train.design)
    if not chosen_train(train.design):
        for needs in needs_of(keys, train.design, by_hand=own):
            train.entries.flag("train_needs", "caution", f"the train as it stands: {needs}")
    if not own and not any(stage.optional for stage in present):
        return
    for level, text in dict.fromkeys(broken(train, keys)):
        train.entries.flag("unsafe_train", level, text)


def broken(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[Level, str]]:
    """Give every rule that a train breaks: how grave it is, and what is unsafe.

    Parameters
    ----------
    train : Train
        Water and design; the ledger is not touched. [-]
    keys : tuple of str
        Keys of its stages ahead of the membranes, in the order of flow. [-]

    Yields
    ------
    tuple of str
        Level and text. [-]
    """
    table = {row["rule"]: row for row in rows("unsafe_trains.csv")}
    for rule, what in _found(train, keys):
        row = table[rule]
        text = f"{row['text'].format(what=what)} ({row['source']}, {row['evidence']})"
        yield cast("Level", row["level"]), text


def _found(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Give every rule that the train breaks, with what breaks it."""
    yield from _oxidants(train, keys)
    yield from _acid(train, keys)
    yield from _rust(train, keys)
    yield from _resin_ahead(train, keys)
    filtered = keys.index("iron_filter") if "iron_filter" in keys else None
    ahead = keys[:filtered] if filtered is not None else ()
    if "inhibitor" in ahead:
        yield "inhibitor_ahead_of_iron", ""
    if filtered is not None and train.design.iron_filter.oxidant != "air":
        for key in (k for k in REDUCERS if k in ahead):
            yield "reducer_ahead_of_oxidant", f"{key} ahead of the iron filter"
    if "weak_acid" in keys and "degasser" not in keys[keys.index("weak_acid") :]:
        yield "weak_acid_without_degasser", ""
    if "bisulfite" in keys and "carbon" in keys[keys.index("bisulfite") :]:
        yield "pointless_bisulfite", ""
    if "cartridge" not in keys:
        yield "no_cartridge", ""


def oxidants_at(train: Train, keys: Sequence[str]) -> list[tuple[int, str]]:
    """Return what oxidises in a train: where, and what it adds that must not go on.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    keys : sequence of str
        Keys of the stages in the order of flow. [-]

    Returns
    -------
    list of tuple
        Place in the train, -1 for the raw water, and name of the oxidant. [-]
    """
    found = [(at, FEEDS[key]) for at, key in enumerate(keys) if key in FEEDS]
    if "iron_filter" in keys and (oxidant := train.design.iron_filter.oxidant) != "air":
        found.append((keys.index("iron_filter"), oxidant))
    if train.raw.free_chlorine_mg_l > 0:
        found.append((-1, "free chlorine of the raw water"))
    if train.raw.oxidants:
        found.append((-1, f"{', '.join(train.raw.oxidants)} of the raw water"))
    elif train.design.carbon.chloramine_mg_l:
        found.append((-1, "chloramine of the raw water"))
    return found


def _oxidants(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    for at, name in oxidants_at(train, keys):
        behind = keys[at + 1 :]
        if not any(key in behind for key in REDUCERS):
            yield "oxidant_to_membrane", name
        if "weak_acid" in behind:
            between = behind[: behind.index("weak_acid")]
            if not any(key in between for key in REDUCERS):
                yield "chlorine_on_weak_acid", name
    if "chlorine" in keys and "nh4" not in train.raw.mg_l:
        yield "chlorine_before_ammonia", ""


def _acid(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    if "acid" not in keys:
        return
    for at, name in oxidants_at(train, keys):
        rule = "acid_with_permanganate" if name == "permanganate" else "acid_with_chlorine"
        yield rule, "the raw water" if at < 0 else keys[at]
    if "bisulfite" in keys:
        yield "acid_with_sulfite", "bisulfite"
    sulfide = train.raw.h2s_mg_l
    if sulfide > GAS_MG_L:
        yield "acid_with_sulfide", f"{sulfide:.2g} mg/L"
    behind = keys[keys.index("acid") + 1 :]
    for key in ("iron_filter", "chlorine", "permanganate", "aeration"):
        if key in behind and "alkali" not in behind[: behind.index(key)]:
            yield "acid_ahead_of_iron", key
            return


def _resin_ahead(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Give an exchanger that takes more metals than codes allow, ahead of the filter for them."""
    metals, most = sum(map(train.raw.total, ("fe", "mn"))), train_limits()["softener_iron_refuse"]
    if "iron_filter" not in keys or metals < most.value:
        return
    for key in keys[: keys.index("iron_filter")]:
        if key in RESINS:
            yield "resin_ahead_of_iron_filter", f"{BY_KEY[key].name}: {metals:.3g} mg/L"


def _rust(train: Train, keys: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Give what oxidises iron or sulfide without a filter behind it."""
    limits = train_limits()
    iron = train.raw.total("fe") > limits["iron_present"].value
    sulfide = train.raw.h2s_mg_l > limits["sulfide"].value
    vented = train.design.supply.vented_raw_tank
    for at, key in enumerate(keys):
        if key not in (*AIRED, *FEEDS) and not (key == "raw_tank" and vented):
            continue
        behind = keys[at + 1 :]
        if "iron_filter" in keys[:at]:
            continue
        until = [behind.index(resin) for resin in RESINS if resin in behind]
        if iron and until and "iron_filter" not in behind[: min(until)]:
            yield "rust_to_resin", key
        elif iron and "iron_filter" not in behind:
            yield "rust_to_membrane", key
        strips = key in AIRED
        if sulfide and not strips and not {"iron_filter", "multimedia"} & set(behind):
            yield "sulfur_to_membrane", key
