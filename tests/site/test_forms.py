"""The forms of a new site: every key once, filled in and read back; invented sites."""

import datetime
import re
import tomllib
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter
from typer.testing import CliRunner

from pretreat.cli import _register, app
from pretreat.core.errors import DesignError
from pretreat.site.keys import known_keys
from pretreat.site.limits import LIMIT_KEYS
from pretreat.site.quote_keys import PACKAGES
from pretreat.site.sheets.catalogue import catalogue
from pretreat.site.sheets.layout import HEAD_ROW, KEY, SHEETS, UNIT, VALUE
from pretreat.site.sheets.reader import read_form
from pretreat.site.sheets.toml_form import site_form
from pretreat.stages.site import design_from, read_site, tables

_register()
KIT = {
    "water.hardness": (21, "gpg"),
    "water.iron": (1.5, None),
    "machine.product_flow": (2, "gpm"),
    "machine.recovery": (0.65, None),
    "machine.hours_per_day": (10, None),
    "softener.vessel": ("10x54", None),
    "softener.salt_per_regeneration": (10, "lb"),
    "iron_filter.vessel_diameter": ("12x52", None),
    "prices.salt_per_kg": (0.5, None),
    "site.name": ("Larkbeck spring", None),
}
TOML = """
[site]
name = "Larkbeck spring"
units = "si"
[water]
hardness = "21 gpg"
iron = "1.5 mg/L"
[machine]
product_flow = "2 gpm"
recovery = 0.65
hours_per_day = 10
[softener]
vessel = "10x54"
salt_per_regeneration = "10 lb"
[iron_filter]
vessel_diameter = "12x52"
[prices]
salt_per_kg = 0.5
"""


def run(*words, code=0):
    result = CliRunner().invoke(app, [*map(str, words)])
    if result.exception is not None and not isinstance(result.exception, SystemExit):
        if code and isinstance(result.exception, DesignError):
            return "\n".join(result.exception.faults)
        raise result.exception
    assert result.exit_code == code, result.output
    return result.output


def fill(path, values, analysis=None):
    """Type values into the form as a person would, by the key of each line."""
    book = openpyxl.load_workbook(path)
    left = dict(values)
    for name in SHEETS:
        sheet = book[name]
        for row in range(HEAD_ROW + 2, sheet.max_row + 1):
            key = sheet.cell(row, KEY + 1).value
            if key in left:
                value, unit = left.pop(key)
                sheet.cell(row, VALUE + 1).value = value
                if unit:
                    sheet.cell(row, UNIT + 1).value = unit
    assert not left, left
    for line in book["Analysis"].iter_rows():
        if line[0].value in (analysis or {}):
            line[1].value = analysis[line[0].value]
    book.save(path)
    return path


@pytest.fixture
def form(tmp_path):
    run("new", tmp_path / "s")
    return tmp_path / "s" / "site_form.xlsx"


def test_every_key_of_the_site_file_stands_in_the_catalogue():
    """Each field once, and no key that is not read."""
    listed = {(e.table, e.field) for e in catalogue(tables()) if e.key}
    wanted = {
        (table, field)
        for table, keys in known_keys(tables()).items()
        for field, _, _ in keys.values()
    }
    few = {("limits", key) for key in LIMIT_KEYS} | {("packages", key) for key in PACKAGES}
    assert wanted - listed == set()
    assert listed - wanted <= few


def test_every_line_of_the_toml_can_be_used():
    """With its # taken away, each line of the commented file is read as it stands."""
    for us in (False, True):
        table, seen = "", 0
        for line in site_form("a.csv", tables(), us=us).splitlines():
            head = re.match(r"^(?:# )?\[(\w+)\]", line)
            table = head[1] if head else table
            typed = re.match(r"^(?:# )?(\w+ = \S.*)$", line)
            if not table or not typed or typed[1].split(" = ")[1].startswith("#"):
                continue
            content = tomllib.loads(f"[{table}]\n{typed[1]}")
            try:
                design_from(content, Path())
            except DesignError as problem:
                told = [f for f in problem.faults if "is missing" not in f]
                needs = ("is given without an element", "is given alone")
                assert all(any(n in f for n in needs) for f in told), told
            seen += 1
        assert seen > 80


def test_the_form_says_what_the_toml_says(form, tmp_path):
    fill(form, KIT)
    (tmp_path / "site.toml").write_text(TOML)
    one, two = read_site(form, water_needed=False), read_site(tmp_path / "site.toml")
    assert one == two


def test_examples_of_the_catalogue_go_through_the_form(form):
    """Every example, typed into its cell, is read."""
    wanted = {
        f"{e.table}.{e.key}": (e.shown(False), None)
        for e in catalogue(tables())
        if e.key and e.shown(False)
        and e.key not in {"salt_per_regeneration", "refill_minutes", "vessel_diameter"}
        and (e.table, e.key) not in {("acid", "target_lsi"), ("machine", "drain_flow"),
                                      ("acid", "dose"), ("alkali", "dose"), ("product_alkali", "dose"),
                                      ("bypass", "share"), ("blending", "share")}
    }  # fmt: skip
    fill(form, {k: ("yes" if v == "true" else "no" if v == "false" else v, u)
                for k, (v, u) in wanted.items()})  # fmt: skip
    content, places = read_form(form, tables())
    given = {f"{t}.{k}" for t, values in content.items() for k in values}
    assert given == set(wanted)
    assert set(wanted) <= set(places)
    design = read_site(form)
    assert design.machine.array == (2, 1)
    assert design.stages["train"].stages == ("iron_filter", "softener", "cartridge")


def test_units_chosen_in_the_list_count(form):
    fill(form, {**KIT, "water.operating_temperature": (59, "°F"),
                "softener.resin_volume": (1.5, "ft3")})  # fmt: skip
    design = read_site(form)
    assert design.water.operating_temperature_c == pytest.approx(15.0)
    assert design.softener.resin_volume_l == pytest.approx(42.475, rel=1e-4)
    assert design.softener.vessel_diameter_m == pytest.approx(0.254)


def test_a_value_with_its_own_unit_and_a_comma(form):
    fill(form, {**KIT, "machine.product_flow": ("1,6 m3/h", None),
                "machine.recovery": ("65 %", None), "supply.pump_flow": ("6,5", None)})  # fmt: skip
    design = read_site(form)
    assert design.machine.product_flow_m3_h == pytest.approx(1.6)
    assert design.machine.recovery == pytest.approx(0.65)
    assert design.supply.pump_flow_m3_h == pytest.approx(6.5)


@pytest.mark.parametrize(
    ("key", "value", "said"),
    [
        ("machine.recovery", 65, "write 0.65 for 65 %"),
        ("machine.recovery", "most", "write a number without a unit"),
        ("machine.product_flow", "=1+1", "a formula without a result"),
        ("machine.product_flow", "#DIV/0!", "is #DIV/0!"),
        ("machine.product_flow", datetime.date(2031, 6, 1), "is a date"),
        ("machine.product_flow", "2 psi", "measures something else"),
        ("softener.control", "clock", "must be one of calendar, meter"),
        ("softener.include", "perhaps", "write yes or no"),
        ("softener.vessel", "10x50", "the nearest is"),
        ("machine.recovery", None, "is missing; write 0.65"),
        ("softener.refill_minutes", 5, "both set the salt of a regeneration"),
    ],
)
def test_a_fault_names_sheet_and_cell(form, key, value, said):
    fill(form, {**KIT, key: (value, None)})
    line = run("rate", form, code=1)
    assert len(line.splitlines()) == 1
    assert said in line
    assert re.search(r"sheet '(Site|Vessels)', cell B\d+: ", line), line


def test_two_faults_are_two_lines(form):
    fill(form, {**KIT, "machine.recovery": (2, None), "softener.reserve": (3, None)})
    assert len(run("rate", form, code=1).splitlines()) == 2


def test_a_key_changed_by_hand_is_said(form):
    book = openpyxl.load_workbook(form)
    cell = book["Site"].cell(HEAD_ROW + 3, KEY + 1)
    cell.value = "site.nam"
    book.save(form)
    assert "'site.nam' is not a key of the site; did you mean 'site.name'" in run(
        "rate", form, code=1
    )


def test_lines_may_be_moved_and_deleted(form):
    fill(form, KIT)
    book = openpyxl.load_workbook(form)
    book["Site"].delete_rows(HEAD_ROW + 4)
    book["Vessels"].move_range("A7:E9", rows=200)
    book.save(form)
    read_site(form)


def test_the_lab_report_may_stand_in_the_form(form):
    report = {"pH (field)": 7.4, "Calcium": 100, "Magnesium": 30, "Sodium": 40, "Alkalinity": 250,
              "Sulfate": 90, "Chloride": 60, "Silica": 18}  # fmt: skip
    kit = {k: v for k, v in KIT.items() if not k.startswith(("water.", "softener.salt"))}
    fill(form, kit, report)
    design = read_site(form)
    assert (design.water.analysis, design.water.sheet) == (form, "Analysis")
    said = run("size", form, "-o", form.with_name("out.xlsx"), "--draws", 0)
    assert "softener" in said.casefold()
    fill(form, {"water.analysis": ("other.csv", None)})
    assert "keep one" in run("size", form, code=1)


def test_units_are_kept_and_honoured(form, tmp_path):
    fill(form, {**KIT, "site.units": ("us", None)})
    said = run("rate", form, "-o", tmp_path / "o.xlsx", "--draws", 0)
    assert "gpm" in said
    assert "m3/h" not in run("rate", form, "-o", tmp_path / "o.xlsx", "--draws", 0).split("\n")[0]
    si = run("rate", form, "-o", tmp_path / "o.xlsx", "--units", "si", "--draws", 0)
    assert si != said
    run("new", tmp_path / "us", "--units", "us")
    assert read_site_units(tmp_path / "us" / "site.toml") == "us"
    sheet = openpyxl.load_workbook(tmp_path / "us" / "site_form.xlsx")["Site"]
    units = {sheet.cell(r, KEY + 1).value: sheet.cell(r, UNIT + 1).value for r in range(5, 60)}
    assert units["machine.product_flow"] == "gpm"


def read_site_units(path):
    return tomllib.loads(path.read_text("utf-8"))["site"]["units"]


def test_another_workbook_is_refused_in_one_line(tmp_path):
    path = tmp_path / "x.xlsx"
    book = xlsxwriter.Workbook(str(path))
    book.add_worksheet("Site").write(0, 0, "hello")
    book.close()
    assert "not the form that 'pretreat new' writes" in run("size", path, code=1)
    path.write_bytes(b"PK\x03\x04rest")
    assert len(run("size", path, code=1).splitlines()) == 1


@pytest.mark.parametrize(
    "text", ["10x54", "10 x 54", "10X54 in", '10"x54"', "10×54", "1054", "10 in x 54 in"]
)
def test_nominal_sizes_in_toml(tmp_path, text):
    """A vessel of 10 by 54 inches usually holds 1.5 cubic feet (common practice, no source)."""
    quoted = text.replace('"', '\\"')
    for key in ("vessel", "vessel_diameter"):
        (tmp_path / "a.toml").write_text(TOML.replace('vessel = "10x54"', f'{key} = "{quoted}"'))
        softener = read_site(tmp_path / "a.toml").softener
        assert softener.vessel_diameter_m == pytest.approx(0.254)
        assert softener.resin_volume_l == pytest.approx(1.5 * 28.3168, rel=1e-5)


def test_what_a_nominal_vessel_holds_is_assumed_and_said(tmp_path):
    import json

    (tmp_path / "a.toml").write_text(TOML)
    study = json.loads(run("rate", tmp_path / "a.toml", "--json", "--draws", 0))
    assert study["figures"]["softener.resin_filled_l"]["origin"] == "assumed"
    assert sum(f["code"] == "filling_assumed" for f in study["flags"]) == 2
    (tmp_path / "a.toml").write_text(
        TOML.replace('"10x54"', '"10x54"\nresin_volume = "40 L"\nvessel_diameter = "12 in"')
    )
    assert "keep one" in run("rate", tmp_path / "a.toml", code=1)


def test_a_neutralising_filter_without_a_lab_report_stays_open(tmp_path):
    """How long its charge lasts needs pH and alkalinity; all else is rated all the same."""
    import json

    more = '[neutralising_filter]\nvessel = "10x54"\n'
    (tmp_path / "a.toml").write_text(TOML + more)
    study = json.loads(run("rate", tmp_path / "a.toml", "--json", "--draws", 0))
    assert study["figures"]["softener.interval_d"]["value"] > 0
    assert study["figures"]["neutralising_filter.media_volume_l"]["origin"] == "assumed"
    assert "media_life.neutralising_filter_years_likely" not in study["figures"]
