"""Deliveries on a quote: what comes on pallets or in parts, how often, and how long it keeps."""

from collections.abc import Mapping

from pretreat.core.basis import Value
from pretreat.core.results import Study
from pretreat.report.hand.quote_sentences import (
    OFFER,
    VISITS,
    by_customer,
    item_name,
    kind_of,
    sold_items,
    unit_of_line,
)
from pretreat.report.hand.quote_words import Words

FRESH, DELIVERIES = "quote.fresh", "quote.deliveries"
FREIGHT, PALLET = "freight", "pallet"
MUCH = 1.1  # times what is used, from which on what is left over is told (own judgement)


def pallets_of(study: Study) -> dict[str, float]:
    """Return what comes on pallets, too much for a visit to bring, and how many in a year.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    dict of float
        Pallets of a year, by item. [-]
    """
    table = study.series.get(DELIVERIES)
    if table is None:
        return {}
    pairs = zip(table.column("item"), table.column("pallets"), strict=True)
    return {str(item): float(count or 0.0) for item, count in pairs}


def parts_of(study: Study) -> frozenset[str]:
    """Return what does not keep for a year, and comes apart from the visits.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    frozenset of str
        Items. [-]
    """
    table = study.series.get(FRESH)
    if table is None:
        return frozenset()
    pairs = zip(table.column("item"), table.column("by_visits"), strict=True)
    return frozenset(str(item) for item, brought in pairs if brought == "no")


def kept_for(study: Study, words: Words) -> tuple[str, ...]:
    """Return how long what does not keep for a year is used.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One sentence for each, and for whoever buys it what to mind; nothing of what is not
        needed. [-]
    """
    provided = by_customer(study)
    said = []
    for item in dict.fromkeys((*map(str, study.series[OFFER].column("item")), *provided)):
        months = study.number(f"costs.{item}_shelf_months")
        if months is None or item not in {*sold_items(study), *provided}:
            continue
        name = words(kind_of(study, item) or item, "items")
        left = "kept_left" if item not in provided and _left_over(study, item) else ""
        days = study.number(f"{item}.kept_days")  # of what is in its tank
        tank = words("kept_tank", days=words.number(days, 0)) if days else ""
        bought = words("kept_bought") if item in provided else ""
        kept = words("kept_for", item=name, months=words.number(months, 0))
        one = (kept, words(left) if left else "", bought, tank)
        said.append(" ".join(part for part in one if part))
    return tuple(said)


def _left_over(study: Study, item: str) -> bool:
    """Tell whether the packages sold hold clearly more than a year uses of what does not keep."""
    table = study.series[OFFER]
    columns = (table.column(name) for name in ("item", "quantity", "packages"))
    size = study.number(f"costs.package_{item}")
    return any(
        size * packages > MUCH * quantity
        for name, quantity, packages in zip(*columns, strict=True)
        if name == item and size and isinstance(quantity, float) and isinstance(packages, float)
    )


def _in_parts(study: Study, words: Words, offered: Mapping[str, Mapping[str, Value]]) -> list[str]:
    """Return how often what does not keep for a year comes, apart from the visits."""
    table, parts = study.series.get(FRESH), parts_of(study)
    said = []
    for values in table.rows if table is not None else ():
        row = dict(zip(table.columns, values, strict=True))  # type: ignore[union-attr]
        line = offered.get(str(row["item"]))
        if line is None or line["amount"] is None or row["item"] not in parts:
            continue
        count, times = float(line["packages"] or 0.0), float(row["times"] or 1.0)
        said.append(
            words(
                "deliveries_fresh",
                item=item_name(study, words, str(row["item"])),
                wanted=words("deliveries_wanted") if line["optional"] == "yes" else "",
                packages=f"{words.count(count)} {unit_of_line(line, words, study)}",
                times=words.count(times),
                months=words.number(float(row["months"] or 0.0), 0),
                each=words.count(-(-count // times)),
            )
        )
    if said and VISITS in study.series:
        said.append(words("kept_between"))
    return said


def deliveries(study: Study, words: Words) -> tuple[str, ...]:
    """Return how much comes on pallets and how often, and what that is counted with.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    words : Words
        The language. [-]

    Returns
    -------
    tuple of str
        One text; nothing where a visit brings all that is offered. [-]
    """
    table, parts = study.series.get(DELIVERIES), parts_of(study)
    if table is None and not parts:
        return ()
    offered = {
        str(row[0]): dict(zip(study.series[OFFER].columns, row, strict=True))
        for row in study.series[OFFER].rows
    }
    found = () if table is None else table.rows
    rows = [dict(zip(table.columns, row, strict=True)) for row in found]  # type: ignore[union-attr]
    said, times, optional = _in_parts(study, words, offered), 0.0, False
    if said:
        times = 2.0  # never one
        wished = (one["optional"] == "yes" for item, one in offered.items() if item in parts)
        optional = any(wished)
    for row in rows:
        line = offered.get(str(row["item"]))
        if line is None or line["amount"] is None:
            continue
        numbers = {
            name: words.counted(float(row[name] or 0.0), PALLET) for name in ("pallets", "each")
        }
        item = item_name(study, words, str(row["item"]))
        count = words.count(float(line["packages"] or 0.0))
        optional = optional or line["optional"] == "yes"
        form = "deliveries_once" if row["times"] == 1.0 else "deliveries_pallets"
        one = words(
            form,
            item=item,
            wanted=words("deliveries_wanted") if line["optional"] == "yes" else "",
            packages=f"{count} {unit_of_line(line, words, study)}",
            times=words.count(float(row["times"] or 0.0)),
            **numbers,
        )
        said.append(one)
        times += float(row["times"] or 0.0)
        if row["bulk"] == "yes":
            said.append(words("deliveries_bulk", item=item))
    if not said:
        return ()
    said.append(words(_freight_of(offered, once=times == 1.0, optional=optional)))
    if rows and VISITS not in study.series:  # else the plan of the visits says who does what
        said.append(words("deliveries_staff"))
    return (" ".join(said),)


def _freight_of(offered: Mapping[str, Mapping[str, Value]], *, once: bool, optional: bool) -> str:
    """Return what is said of the freight: its line covers the one delivery of what is ordered."""
    line = offered.get(FREIGHT)
    if line is None or line["amount"] is None or (optional and line["optional"] != "yes"):
        return "deliveries_basis_one" if once else "deliveries_basis"
    return "deliveries_basis_only" if once else "deliveries_basis_first"
