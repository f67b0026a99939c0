"""Lines of the supplier's own: a kind, a rate of tax, a heading, and money to the cent.

Each amount is quantity x price, half a cent up; tax is worked out on the net of its rate, and the
last rate takes what is left of the discount (docs/first_hour/salesperson.md, pretreat/quote/
offer_laws.py). All of it is worked out anew with decimals. Sites, lines and prices are invented.
"""

import csv
import json
from decimal import ROUND_HALF_UP, Decimal

import openpyxl
import pytest

from tests.cli.conftest import pretreat  # noqa: F401
from tests.quote.quoting import half_up, words_of
from tests.quote.test_plan_of_the_quote import SITE
from tests.quote.test_sold_and_priced import FED, WATER

# text, price, quantity, unit, kind, rate of its own
LINES = (
    ("Vessel with valve", "1240.005", "2", "", "equipment", None),
    ("Assembly on site", "61.35", "7.5", "h", "labour", None),
    ("Course", "333.33", "1", "", "", "0"),
    ("Pipe", "12.345", "2.125", "m", "", None),
    ("Book", "19.99", "3", "", "labour", "5.5"),
)
RATES = {"default": "19", "labour": "7", "equipment": "10"}
EQUIPMENT = {"en": "Equipment", "es": "Equipos", "de": "Anlagenteile"}
TAX = {"en": "Tax {} % on ", "es": "Impuesto {} % sobre ", "de": "Umsatzsteuer {} % auf "}


def written(lines=LINES):
    """The lines as a site file has them."""
    rows = []
    for text, price, quantity, unit, kind, rate in lines:
        keys = f'text = "{text}", price = {price}, quantity = {quantity}'
        keys += f', unit = "{unit}"' * bool(unit) + f', kind = "{kind}"' * bool(kind)
        rows.append(f"{{ {keys}{f', tax_percent = {rate}' if rate else ''} }}")
    return f"lines = [{', '.join(rows)}]\n"


def amounts(lines=LINES, rates=RATES):
    """Amount and rate of each line."""
    return [
        (
            half_up(Decimal(price) * Decimal(quantity)),
            Decimal(rate or rates.get(kind, rates["default"])),
        )
        for _, price, quantity, _, kind, rate in lines
    ]


def money(pairs, discount):
    """Net, tax and gross, and net and tax of each rate."""
    rates = sorted({rate for _, rate in pairs})
    sums = {rate: sum(a for a, of in pairs if of == rate) for rate in rates}
    off = half_up(sum(sums.values()) * discount / 100)
    left, found = off, {}
    for n, rate in enumerate(rates, start=1):
        part = left if n == len(rates) else half_up(sums[rate] * discount / 100)
        left -= part
        net = sums[rate] - part
        found[rate] = (net, half_up(net * rate / 100))
    net, tax = (sum(one[i] for one in found.values()) for i in (0, 1))
    assert net == sum(sums.values()) - off
    return net, tax, net + tax, found


def row_of(folder, number=0):
    with (folder / "out" / "overview.csv").open(encoding="utf-8") as stream:
        return list(csv.DictReader(stream))[number]


def site(terms, base=FED):
    rates = ", ".join(f"{name} = {rate}" for name, rate in RATES.items())
    return base.replace("tax_percent = 20\n", "") + f"tax_percent = {{ {rates} }}\n{terms}"


def quoted(pretreat, folder, text, *flags):  # noqa: F811
    (folder / "w.csv").write_text(WATER, encoding="utf-8")
    (folder / "a.toml").write_text(text, encoding="utf-8")
    pretreat("quote", "a.toml", "-o", "out", *flags)
    return words_of(folder / "out" / "a.pdf"), row_of(folder)


@pytest.mark.parametrize("language", EQUIPMENT)
@pytest.mark.parametrize(("discount", "units"), [("0", "si"), ("5", "us"), ("12.75", "si")])
def test_own_lines_have_their_own_tax(pretreat, tmp_path, language, discount, units):  # noqa: F811
    terms = f'consumables = "none"\nlanguage = "{language}"\ndiscount_percent = {discount}\n'
    words, row = quoted(pretreat, tmp_path, site(terms + written()), "--units", units)
    net, tax, gross, by_rate = money(amounts(), Decimal(discount))
    assert [Decimal(row[name]) for name in ("net", "tax", "gross")] == [net, tax, gross]
    assert f" {EQUIPMENT[language]} Vessel with valve " in words
    mark = (lambda text: text) if language == "en" else _comma
    for rate, (of, due) in by_rate.items():
        if rate:
            label = TAX[language].format(mark(str(rate)))
            assert label + mark(f"{of:,.2f}") in words
            assert mark(f"{due:,.2f}") in words
    assert f" {mark('7.5')} " in words
    assert f" {mark('2.125')} " in words  # as typed, so that it times 12.345 is the amount
    assert " h " in words


def _comma(text):
    return text.translate(str.maketrans({",": ".", ".": ","}))


@pytest.mark.parametrize("margin", ["", "margin_percent = 22.5\n"])
def test_own_lines_beside_media_and_labour(pretreat, tmp_path, margin):  # noqa: F811
    """All lines of the total, at the rates that the table of the offer gives them."""
    terms = f"discount_percent = 3.5\n{margin}" + written()
    _, row = quoted(pretreat, tmp_path, site(terms, SITE))
    ran = pretreat("rate", "a.toml", "--json", "-o", "a.xlsx")
    offer = json.loads(ran.stdout)["series"]["quote.offer"]
    lines = [dict(zip(offer["columns"], line, strict=True)) for line in offer["rows"]]
    own = {line["text"]: line for line in lines if line["text"]}
    for (text, *_), (amount, rate) in zip(LINES, amounts(), strict=True):
        assert Decimal(str(own[text]["amount"])).quantize(Decimal("0.01")) == amount
        assert Decimal(str(own[text]["tax_percent"])) == rate
    kinds = {line["item"]: line["tax_percent"] for line in lines if not line["text"]}
    assert kinds["labour"] == 7.0
    assert kinds["softener_medium"] == 19.0
    pairs = [
        (
            Decimal(str(line["amount"])).quantize(Decimal("0.01"), ROUND_HALF_UP),
            Decimal(str(line["tax_percent"])),
        )
        for line in lines
        if line["optional"] == "no" and line["amount"] is not None
    ]
    net, tax, gross, by_rate = money(pairs, Decimal("3.5"))
    assert [Decimal(row[name]) for name in ("net", "tax", "gross")] == [net, tax, gross]
    sheet = openpyxl.load_workbook(tmp_path / "a.xlsx", data_only=True)["Quote"]
    cells = [[cell.value for cell in line] for line in sheet.iter_rows()]
    heads = [line[0] for line in cells]
    assert heads.index("Equipment") + 1 == next(
        n for n, head in enumerate(heads) if str(head).startswith("Vessel with valve")
    )
    for rate, (of, due) in by_rate.items():
        label = f"Tax {float(rate):g} % on {of:,.2f}" if rate else f"Not taxed: {of:,.2f}"
        shown = next(line for line in cells if line[0] == label)
        assert Decimal(str(shown[4])).quantize(Decimal("0.01")) == due


def test_a_table_of_customers_has_own_lines_too(pretreat, tmp_path):  # noqa: F811
    """A cell holds the list as the site file has it; a row without takes that of the site file."""
    (tmp_path / "w.csv").write_text(WATER, encoding="utf-8")
    terms = 'consumables = "none"\n' + written()
    (tmp_path / "a.toml").write_text(site(terms), encoding="utf-8")
    other = (
        ("Cabinet", "99.995", "3", "", "equipment", None),
        ("Start", "80", "2.5", "h", "", "7"),
    )
    cell = written(other).removeprefix("lines = ").strip()
    with (tmp_path / "c.csv").open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerows([("site.name", "quote.lines"), ("Mill", cell), ("Ford", "")])
    pretreat("quote", "a.toml", "--customers", "c.csv", "-o", "out")
    for number, lines in enumerate((other, LINES)):
        row, found = row_of(tmp_path, number), money(amounts(lines), Decimal(0))
        assert [Decimal(row[name]) for name in ("net", "tax", "gross")] == list(found[:3])


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ('kind = "labor"', "did you mean 'labour'"),
        ('tax_percent = "labour"', 'write kind = "labour"'),
        ("tax_percent = 140", "tax_percent"),
        ("tax = 7", "unknown key 'tax'"),
    ],
)
def test_a_line_that_cannot_be_is_refused(pretreat, tmp_path, line, said):  # noqa: F811
    text = site(f'lines = [{{ text = "Valve", price = 9, {line} }}]\n')
    (tmp_path / "a.toml").write_text(text, encoding="utf-8")
    assert said in pretreat("quote", "a.toml", "-o", "out", code=1).stderr


def test_a_rate_of_one_line_alone_is_refused(pretreat, tmp_path):  # noqa: F811
    """All else would be marked as not taxed."""
    text = FED.replace("tax_percent = 20\n", "")
    text += 'lines = [{ text = "Valve", price = 9, tax_percent = 7 }]\n'
    (tmp_path / "a.toml").write_text(text, encoding="utf-8")
    ended = pretreat("quote", "a.toml", "-o", "out", code=1)
    assert "'Valve' has a rate of tax and the rest has none" in ended.stderr


@pytest.mark.parametrize(
    ("tongue", "title"),
    [
        ("en", "Goods and services for your water treatment, with the replacement of the media"),
        ("es", "con la sustitución de los medios filtrantes"),
        ("de", "mit dem Austausch der Filtermedien"),
    ],
)
def test_the_title_names_more_than_the_media(pretreat, tmp_path, tongue, title):  # noqa: F811
    words, _ = quoted(pretreat, tmp_path, site(f'language = "{tongue}"\n{written()}', SITE))
    assert title in words
