"""Fixed words, numbers and dates of the quote in the language of the customer."""

import datetime
import math
import re
from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.tables import texts
from pretreat.core.text import lazy
from pretreat.core.units import hardness_mg_l_caco3, quantity, us_customary

ENGLISH = "en"
LANGUAGES = (ENGLISH, "es", "de")
_CENTS, _MOST_PRICE_DECIMALS = 2, 6
_DIGITS = 3
_MOST_RATE_DECIMALS = 10
_PERCENT = 100.0
_SAME = 0.01  # a hardness that was changed since it was typed is another one
NONE_USUAL = "-"  # of a language whose readers know no degrees of hardness
_NEAR = 1e-9
AS_CACO3 = " as CaCO3"
# Spelling of an English page in US units.
_AMERICAN = {
    "colour": "color",
    "analysed": "analyzed",
    "Labour": "Labor",
    "neutralising": "neutralizing",
    "Neutralising": "Neutralizing",
}
_AS_I = lazy(r"h?i(?!e)", re.IGNORECASE)  # what turns the Spanish y before it into e
_ONE = 1.0
_SIGNS = {"m3": "m³", "ft3": "ft³", "m3/d": "m³", "gpd": "gal", "mg/L as CaCO3": "as_caco3"}


def _plural_es(name: str) -> str:
    """Spanish: saco, sacos; bidón, bidones; tambor, tambores."""
    if name.endswith("ón"):
        return f"{name[:-2]}ones"
    if name.endswith("z"):
        return f"{name[:-1]}ces"
    return name if name[-1] in "sx" else f"{name}{'s' if name[-1] in 'aeiouáéó' else 'es'}"


def _plural_en(name: str) -> str:
    """English: keg, kegs; tray, trays; hutch, hutches."""
    if name.endswith("y") and name[-2:-1] not in "aeiou":
        return f"{name[:-1]}ies"
    return f"{name}{'es' if name.endswith(('s', 'x', 'ch', 'sh')) else 's'}"


_PLURALS: Mapping[str, Callable[[str], str]] = {"es": _plural_es, "en": _plural_en}


def said_in(language: str) -> Mapping[str, Any]:
    """Return the texts of a language as they stand in ``data/``.

    Parameters
    ----------
    language : str
        One of `LANGUAGES`. [-]

    Returns
    -------
    mapping of str
        Texts, and tables of texts. [-]
    """
    return texts(f"quote_words_{language}.toml")


class Words(Struct, frozen=True):
    """The texts of one language, those of English where one is missing."""

    language: str
    us: bool = False

    def _table(self, language: str) -> Mapping[str, Any]:
        return said_in(language)

    def __call__(self, name: str, group: str = "", **filled: str) -> str:
        """Return a text with its braces filled in."""
        for language in (self.language, ENGLISH):
            table = self._table(language)
            table = table.get(group, {}) if group else table
            if isinstance(table.get(name), str):
                said = str(table[name]).format(**filled) if filled else str(table[name])
                return self._spelled(said)
        return ""

    def _spelled(self, text: str) -> str:
        """Return a text as the country of the reader spells it."""
        if self.us and self.language == ENGLISH:
            for british, american in _AMERICAN.items():
                text = text.replace(british, american)
        return text

    def package(self, name: str, count: float | None = None) -> str:
        """Return what something is bought in, many of them unless it is one; else as written."""
        one = count in {None, _ONE}
        usual = self(name.casefold(), "packages" if one else "packages_many")
        return usual or (name if one else self._many(name))

    def _many(self, name: str) -> str:
        """Return the plural of a package that the price list names in the language of the quote."""
        singular = self._table(self.language)["packages"]
        key = next((k for k, said in singular.items() if said.casefold() == name.casefold()), "")
        if key:
            return self(key, "packages_many") or name
        rule = _PLURALS.get(self.language)
        return rule(name) if rule and name.isalpha() else name

    def counted(self, count: float, name: str) -> str:
        """Return a count with what is counted, such as "3 pallets"."""
        return f"{self.count(count)} {self.package(name, count)}"

    def number(self, value: float, decimals: int) -> str:
        """Return a number with the marks of the language."""
        text = f"{value:,.{decimals}f}"
        marks = {",": self("thousands"), ".": self("decimal")}
        return "".join(marks.get(letter, letter) for letter in text)

    def money(self, value: float) -> str:
        """Return an amount in cents."""
        return self.number(value, _CENTS)

    def price(self, value: float) -> str:
        """Return a price with as many decimals as it has, two at least."""
        decimals = _CENTS
        while decimals < _MOST_PRICE_DECIMALS and _rounded_off(value, decimals):
            decimals += 1
        return self.number(value, decimals)

    def count(self, value: float) -> str:
        """Return a count, with decimals only where it is no whole number."""
        decimals = 0
        while decimals < _MOST_PRICE_DECIMALS and _rounded_off(value, decimals):
            decimals += 1
        return self.number(value, decimals)

    def rate(self, percent: float) -> str:
        """Return a rate as it was typed: no figure that was measured, so no digit is left out."""
        typed = f"{percent:.{_MOST_RATE_DECIMALS}f}".rstrip("0").partition(".")[2]
        return self.number(percent, len(typed))

    def plain(self, value: float) -> str:
        """Return a number with three digits, none of them a zero at the end."""
        if value == 0.0:
            return "0"
        decimals = max(0, _DIGITS - 1 - math.floor(math.log10(abs(value))))
        while decimals and not _rounded_off(round(value, decimals), decimals - 1):
            decimals -= 1
        return self.number(round(value, decimals), decimals)

    def measure(self, value: float, unit: str) -> str:
        """Return a quantity in the units of the reader."""
        if self.us:
            value, unit = us_customary(value, unit)
        sign = _SIGNS.get(unit, unit)
        return f"{self.plain(value)} {self(sign) or sign}"

    def keeps(self, value: float, unit: str) -> bool:
        """Tell whether a quantity loses nothing by being shown, so that it multiplies out."""
        shown = us_customary(value, unit)[0] if self.us else value
        return not _rounded_off(shown, _DIGITS - len(str(int(abs(shown)))))

    def tank(self, litres: float) -> str:
        """Return the volume of a tank, in gallons for a reader of US units; two digits, up."""
        volume, unit = (litres / quantity("1 gal", "L"), "gal") if self.us else (litres, "L")
        place = 10.0 ** (math.floor(math.log10(volume)) - 1) if volume > 0 else 1.0
        return f"{self.plain(math.ceil(volume / place - _NEAR) * place)} {unit}"

    def hardness(self, mg_l_caco3: float, typed: str = "") -> str:
        """Return a hardness in the units of the reader, beside it as typed or in degrees."""
        shown, degrees = self.measure(mg_l_caco3, "mg/L as CaCO3"), self("degrees")
        if self.us:
            shown = shown.removesuffix(AS_CACO3)  # a grain is of hardness in any case
        number, _, unit = typed.partition(" ")
        same = unit and abs(hardness_mg_l_caco3(typed) - mg_l_caco3) <= _SAME * mg_l_caco3
        if same and unit not in shown and not unit.startswith(("mg", "ppm")):
            return f"{shown} ({number.replace('.', self('decimal'))} {unit})"
        if self.us or degrees == NONE_USUAL:
            return shown
        return f"{shown} ({self.plain(mg_l_caco3 / hardness_mg_l_caco3(f'1 {degrees}'))} {degrees})"

    def percent(self, share: float) -> str:
        """Return a share in percent, never more than it is."""
        return self.plain(math.floor(_PERCENT * share + _NEAR))

    def inside(self, name: str) -> str:
        """Return a name as it stands within a sentence; German writes its nouns large."""
        return name if self.language == "de" else f"{name[:1].lower()}{name[1:]}"

    def date(self, day: datetime.date) -> str:
        """Return a date in words."""
        month = self("month").split()[day.month - 1]
        form = "date_long_us" if self.us else "date_long"
        return self(form, day=str(day.day), month=month, year=str(day.year))

    def month(self, day: datetime.date) -> str:
        """Return month and year."""
        month = self("month").split()[day.month - 1]
        return self("month_of_year", month=month, year=str(day.year))

    def listed(self, parts: tuple[str, ...]) -> str:
        """Return parts as a list in a sentence."""
        if len(parts) < 2:
            return "".join(parts)
        joint = self("and_before_i" if _AS_I.match(parts[-1]) else "and")
        return f"{', '.join(parts[:-1])} {joint} {parts[-1]}"


def _rounded_off(value: float, decimals: int) -> bool:
    """Tell whether a number loses something with so many decimals."""
    return abs(value - round(value, decimals)) > _NEAR * max(1.0, abs(value))


def words_of(language: object, *, us: bool = False) -> Words:
    """Return the words of a language, of English where it is not known.

    Parameters
    ----------
    language : object
        Such as "de". [-]
    us : bool
        True for US customary units. [-]

    Returns
    -------
    Words
        Its texts. [-]
    """
    return Words(str(language) if language in LANGUAGES else ENGLISH, us)
