"""The quote as the customer reads it, before it is set on a page; PDF and sheet share it."""

import datetime
from collections.abc import Collection

from msgspec import Struct

from pretreat.core.basis import Value
from pretreat.core.dates import after_days
from pretreat.core.errors import PretreatError
from pretreat.core.results import Study
from pretreat.report.hand.quote_conditions import conditions, draft_reasons, speaks_against
from pretreat.report.hand.quote_deliveries import deliveries, kept_for, pallets_of
from pretreat.report.hand.quote_lines import (
    LABOUR,
    Group,
    Line,
    description,
    grouped,
    taxes_of,
)
from pretreat.report.hand.quote_sentences import (
    OFFER,
    basis,
    by_customer,
    by_test_kit,
    designed,
    drinking,
    filled,
    is_planned,
    item_name,
    salt,
    stage_name,
    text,
    unit_of_line,
    verdict,
    visit_dates,
)
from pretreat.report.hand.quote_sold import (
    FREIGHT,
    GOODS,
    NET,
    media_left,
    nothing_sold,
    own_reasons,
    safety,
    solutions,
    subject,
    supplies_open,
    work_without_medium,
)
from pretreat.report.hand.quote_visits import (
    provided_named,
    staff_alone,
    visits,
    visits_offered,
)
from pretreat.report.hand.quote_words import Words, words_of

GROSS, SUBTOTAL, DISCOUNT = "quote.gross", "quote.subtotal", "quote.discount"
DISCOUNT_PCT = "offer.discount_pct"


class Total(Struct, frozen=True):
    """A sum of the quote; ``strong`` is what the customer pays."""

    label: str
    key: str
    value: float | None
    strong: bool = False
    rate_key: str = ""  # of the rate that the label says, of a discount or a tax
    net: float | None = None  # what a tax is worked out on

    @property
    def net_key(self) -> str:
        """Key of what a tax is worked out on, empty where it is no tax."""
        return f"{self.key.removesuffix('_tax')}_net" if self.key.endswith("_tax") else ""


class Document(Struct, frozen=True):
    """A quote, word for word."""

    words: Words
    title: str
    draft: str
    letterhead: tuple[str, ...]
    customer: tuple[str, ...]
    facts: tuple[tuple[str, str], ...]
    subject: str
    intro: tuple[str, ...]
    groups: tuple[Group, ...]
    totals: tuple[Total, ...]
    under_totals: tuple[str, ...]
    options: Group | None
    options_note: str
    paragraphs: tuple[tuple[str, tuple[str, ...]], ...]
    currency: str
    day: datetime.date
    valid_until: datetime.date
    signed: str

    @property
    def taxed_by_line(self) -> bool:
        """Tell whether the lines have several rates of tax, so that each shows its own."""
        lines = [line for group in self.groups for line in group.lines]
        return any(line.tax for line in (*lines, *(self.options.lines if self.options else ())))

    @property
    def footer(self) -> str:
        """What the foot of each page says: who sells, and which quote it is."""
        number = next((said for lead, said in self.facts if lead == self.words("number")), "")
        return "   ".join(part for part in (*self.letterhead[:1], self.title, number) if part)


def day_of(study: Study, day: datetime.date | None) -> datetime.date:
    """Return the date of a quote: as asked, else as the site file says, else today.

    Parameters
    ----------
    study : Study
        The study. [-]
    day : date or None
        As asked. [-]

    Returns
    -------
    date
        Date of issue. [-]
    """
    written = study.value("offer.date")
    if day is None and isinstance(written, str):
        return datetime.date.fromisoformat(written)
    return day or datetime.date.today()


def is_draft(study: Study) -> bool:
    """Tell whether a quote is no offer: nothing in it can be ordered, or the water is against it.

    Parameters
    ----------
    study : Study
        The study. [-]

    Returns
    -------
    bool
        True for a draft; what speaks against the water or the plant may be accepted. [-]
    """
    return bool(own_reasons(study, words_of("en"))) or speaks_against(study)


def quote_document(
    study: Study,
    *,
    us: bool = False,
    date: datetime.date | None = None,
    number: str = "",
    priced: bool = True,
) -> Document:
    """Return the quote of a study, ready to be set on a page.

    Parameters
    ----------
    study : Study
        A study with a table of what is offered. [-]
    us : bool
        True for US customary units. [-]
    date : date, optional
        Date of issue, instead of that of the site file. [-]
    number : str
        Number of the quote where the site file gives none. [-]
    priced : bool
        False where a quote without any price will do. [-]

    Returns
    -------
    Document
        Words and numbers. [-]

    Raises
    ------
    PretreatError
        If nothing that is offered has a price.
    """
    if priced and OFFER not in study.series and "jar_test" in {f.code for f in study.flags}:
        raise PretreatError(
            "no train can be settled for this water before a jar test or a pilot, so there is "
            "nothing to quote yet"
        )
    unpriced = study.number(NET) is None and not nothing_sold(study)
    if priced and (OFFER not in study.series or unpriced):
        raise PretreatError(
            "no price is given for anything that is offered: fill in [prices] of the site file, "
            "or name a price list with --prices"
        )
    words = words_of(study.value("offer.language"), us=us)
    day = day_of(study, date)
    valid = after_days(day, study.number("quote.valid_days") or 0.0)
    draft = is_draft(study)
    main, options = _lines(study, words)
    nothing = nothing_sold(study)
    return Document(
        words,
        words("title_draft" if draft else "title"),
        _drafted(study, words) if draft else "",
        _rows(study, "letterhead"),
        _customer(study),
        _facts(study, words, (day, valid), number),
        subject(study, words),
        _intro(study, words),
        grouped(main, words),
        () if nothing else _totals(study, words),
        () if nothing else _under_totals(study, words),
        Group(words("options"), options) if options else None,
        _options_note(study, words),
        _paragraphs(study, words, day, main),
        text(study.value("quote.currency")),
        day,
        valid,
        _signed(study, words),
    )


def _intro(study: Study, words: Words) -> tuple[str, ...]:
    """Return why it is a draft, what it rests on, what the water allows, what a plan leaves out."""
    planned = _planned(study, words) if is_planned(study) else ""
    draft = is_draft(study)
    why = _why(study, words) if draft else ""
    allows, wanted = verdict(study, words, draft=draft), conditions(study, words, draft=draft)
    said = (why, basis(study, words), allows, wanted, planned)
    return tuple(text for text in said if text)


def _drafted(study: Study, words: Words) -> str:
    """Return that it is no offer yet, and whether the water or the quote itself is the reason."""
    return words("draft" if speaks_against(study) else "draft_own")


def _why(study: Study, words: Words) -> str:
    """Return why it is a draft: what the quote itself lacks, then what the water is against."""
    own = own_reasons(study, words)
    if own and not speaks_against(study):
        return words("draft_reasons", listed="; ".join(own))
    return draft_reasons(study, words, first=own)


def short_reasons(study: Study, words: Words) -> str:
    """Return why a quote is a draft in a customer's words, without the lead of the sentence.

    Parameters
    ----------
    study : Study
        The study of a draft. [-]
    words : Words
        The language. [-]

    Returns
    -------
    str
        Reasons with a semicolon between. [-]
    """
    return _why(study, words).partition(": ")[2].rstrip(".")


def _planned(study: Study, words: Words) -> str:
    """Return what the quantities are, and that a line has to name what else is sold of the plant.

    Own exclusions say the latter in the supplier's words.
    """
    bare = "" if _rows(study, "exclusions") else words("note_equipment")
    fed = solutions(study, words)
    said = (
        designed(study, words),
        words("note_planned"),
        bare,
        words("note_solutions", listed=fed) if fed else "",
    )
    return " ".join(one for one in said if one)


def _contact(study: Study) -> str:
    """Return who signs and answers, with the function; empty where nobody is named."""
    named = (*_rows(study, "contact"), *_rows(study, "contact_function"))
    return ", ".join(named) if _rows(study, "contact") else ""


def _signed(study: Study, words: Words) -> str:
    """Return what stands under the supplier's line; a company is asked for where none is named."""
    name = _contact(study)
    if name:
        return words("sign_named", who=name)
    return words("sign_letterhead" if _rows(study, "letterhead") else "sign")


def _rows(study: Study, part: str) -> tuple[str, ...]:
    """Return the lines of a part of the supplier's own words."""
    table = study.series.get("quote.words")
    found = () if table is None else table.rows
    return tuple(text(row[1]) for row in found if row[0] == part)


def _customer(study: Study) -> tuple[str, ...]:
    """Return who is quoted to, else the site, and the address."""
    names = (text(study.value(key)) for key in ("site.prepared_for", "site.name"))
    named = _rows(study, "customer") or tuple([name for name in names if name][:1])
    return (*named, *_rows(study, "address"))


def _facts(
    study: Study, words: Words, dates: tuple[datetime.date, datetime.date], number: str
) -> tuple[tuple[str, str], ...]:
    place = [text(study.value("site.name")), text(study.value("site.place"))]
    pairs = (
        ("number", text(study.value("offer.number")) or number),
        ("date", words.date(dates[0])),
        ("valid_until", words.date(dates[1])),
        ("currency", text(study.value("quote.currency"))),
        ("site", ", ".join(part for part in place if part)),
        ("prepared_by", "" if _contact(study) else text(study.value("site.prepared_by"))),
        ("contact", _contact(study)),
        *((name, " ".join(_rows(study, name))) for name in ("contact_phone", "contact_email")),
    )
    return tuple((words(name), text) for name, text in pairs if text)


def _lines(study: Study, words: Words) -> tuple[tuple[Line, ...], tuple[Line, ...]]:
    """Return what is offered, and what may be ordered beside it."""
    table = study.series[OFFER]
    main: list[Line] = []
    options: list[Line] = []
    pallets = pallets_of(study)
    for values in table.rows:
        row = dict(zip(table.columns, values, strict=True))
        line = Line(
            description(study, row, words, pallets.get(str(row["item"]))),
            _number(row["packages"]),
            unit_of_line(row, words, study),
            _number(row["price"]),
            _number(row["amount"]),
            {
                name: text(row[name])
                for name in (
                    "figure",
                    "price_figure",
                    "packages_figure",
                    "stage",
                    "item",
                    "kind",
                )
            },
            *taxes_of(study, row, words),
        )
        if row["optional"] != "yes":
            main.append(line)
        elif line.amount is not None or (study.number(NET) is None and main):
            options.append(line)
    return tuple(main), tuple(options)


def _number(value: Value) -> float | None:
    return value if isinstance(value, float) else None


def _totals(study: Study, words: Words) -> tuple[Total, ...]:
    found = []
    if study.number(DISCOUNT_PCT):
        rate = words.rate(study.number(DISCOUNT_PCT) or 0.0)
        label = words("discount", rate=rate)
        found.append(Total(words("subtotal"), SUBTOTAL, study.number(SUBTOTAL)))
        found.append(Total(label, DISCOUNT, study.number(DISCOUNT), rate_key=DISCOUNT_PCT))
    taxed = study.value("offer.taxed") is not None
    found.append(Total(words("net"), NET, study.number(NET), strong=not taxed))
    number = 1
    while taxed and f"offer.rate_{number}_tax" in study.figures:
        stem = f"offer.rate_{number}"
        tax, net = (study.number(f"{stem}_{what}") for what in ("tax", "net"))
        percent = study.number(f"{stem}_pct") or 0.0
        rate = words.rate(percent)
        label = words("tax_short", rate=rate)
        if net is not None:
            form = "tax" if percent else "untaxed_net"
            label = words(form, rate=rate, net=words.money(net))
        if net is not None or study.number(NET) is None:
            found.append(Total(label, f"{stem}_tax", tax, rate_key=f"{stem}_pct", net=net))
        number += 1
    if taxed:
        found.append(Total(words("gross"), GROSS, study.number(GROSS), strong=True))
    return tuple(found)


def _under_totals(study: Study, words: Words) -> tuple[str, ...]:
    taxed = study.value("offer.taxed") is not None
    return (words("rounding"),) if taxed else (words("tax_free"),)


def _paragraphs(
    study: Study, words: Words, day: datetime.date, main: tuple[Line, ...]
) -> tuple[tuple[str, tuple[str, ...]], ...]:
    sold = {line.keys["item"] for line in main if line.amount is not None}
    gaps_of = (_gap(study, line, words, sold) for line in main if line.amount is None)
    unsold = (*gaps_of, *_left(study, words))
    provided = by_customer(study)
    carried = FREIGHT in study.series[OFFER].column("item")
    unsold = unsold if carried or not provided else (*unsold, words(FREIGHT, "items"))
    gaps = tuple(dict.fromkeys(name for name in unsold if name))
    changes = words(f"changes_{_water_known(study)}")
    left_out = _rows(study, "exclusions") or (words("exclusions_default", changes=changes),)
    if gaps and (study.number(NET) is not None or nothing_sold(study)):
        left_out = (*left_out, words("exclusions_lines", names="; ".join(gaps)))
    work = work_without_medium(study, words)
    if work:
        left_out = (*left_out, words("exclusions_work", names="; ".join(work)))
    if left := media_left(study, words):
        left_out = (*left_out, words("exclusions_media", names="; ".join(left)))
    if provided:
        names = "; ".join(provided_named(study, words))
        left_out = (*left_out, words("exclusions_supplies", names=names))
    if supplies_open(study):
        left_out = (*left_out, words("exclusions_supplies_open"))
    found = [
        (
            words("visits" if visit_dates(study, day) else "service_life"),
            visits(study, words, day),
        ),
        (
            words("delivery"),
            (
                *(_rows(study, "delivery") or (words("delivery_default"),)),
                *deliveries(study, words),
                *kept_for(study, words),
                *staff_alone(study, words),
            ),
        ),
        (words("terms"), _rows(study, "terms") or (words("terms_default"),)),
        (words("exclusions"), left_out),
        (
            words("notes"),
            (
                *salt(study, words),
                words(_lives(study)),
                *drinking(study, words),
                *filled(study, words),
                words("note_drinking"),
                safety(study, words),
            ),
        ),
    ]
    return tuple((heading, rows) for heading, rows in found if rows)


def _lives(study: Study) -> str:
    """Return what is said of the lives; without a water that of carbon alone is told."""
    if _water_known(study) != "none":
        return "note_lives"
    return "note_lives_usual" if "quote.carbon_years_low" in study.figures else "note_lives_open"


def _options_note(study: Study, words: Words) -> str:
    """Return what the options are, and whether discount and tax come to their prices."""
    table = study.series[OFFER]
    pairs = zip(table.column("item"), table.column("optional"), strict=True)
    supplies = any(option == "yes" and item in GOODS for item, option in pairs)
    visited = visits_offered(study) == "yes"
    name = ("options_note_visits" if supplies else "options_note_only_visits") if visited else ""
    note = words(name or "options_note") if supplies or visited else ""
    more = [words("options_discount")] if study.number("offer.discount_pct") else []
    more += [words("options_tax")] if study.value("offer.taxed") is not None else []
    before = words("options_before", what=words.listed(tuple(more))) if more else ""
    return f"{note} {before}".strip()


def _left(study: Study, words: Words) -> tuple[str, ...]:
    """Return what a year takes and has no price, so that it is no option."""
    table = study.series[OFFER]
    columns = (table.column(name) for name in ("item", "optional", "amount"))
    rows = zip(*columns, strict=True)
    names = (str(item) for item, option, amount in rows if option == "yes" and amount is None)
    return tuple(item_name(study, words, name) for name in names)


def _gap(study: Study, line: Line, words: Words, sold: Collection[str]) -> str:
    """Return what a line without an amount sells; of which filter, where that of others is sold."""
    item, stage = item_name(study, words, line.keys["item"]) or line.text, line.keys["stage"]
    item = line.text if line.keys["item"] == LABOUR else item
    if not stage or line.keys["item"] not in sold:
        return item
    return words("gap_of", item=item, stage=stage_name(stage, words))


def _water_known(study: Study) -> str:
    """Return how the water is known: by an analysis, by a test kit, or not at all."""
    if study.number("water.hardness_mg_l_caco3") is None:
        return "none"
    return "kit" if by_test_kit(study) else "analysis"
