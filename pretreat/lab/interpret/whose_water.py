"""A sample whose name, place or heading says that it is no raw water."""

import re
import unicodedata
from collections.abc import Iterable

from pretreat.core.basis import Flag
from pretreat.core.text import lazy
from pretreat.lab.interpret.sampling import PrintedSample
from pretreat.lab.read.water_words import kind_of_water, names_a_place

NOT_RAW = "not_raw_water"
LONGEST_TITLE, MOST_TITLES = 80, 8  # of a heading; more is a remark or an address
# Words that nobody writes over a raw water, in small letters without accents.
_TREATED = lazy(
    r"\b(after|behind|post|downstream of|from the|out of|leaving)( the| a)? ?-?"
    r"(soften|treat|filt|ro\b|reverse|uv\b)|\bsoftened\b|\bsoft water\b|\bsoftener (outlet|out"
    r"|effluent|product)|\b(kitchen|bathroom|house|drinking|cold water)( cold)? tap\b"
    r"|\btap water\b|\bkitchen (sink|faucet)|\bpermeate?\b|\btreated (water|sample)\b|\btreated$"
    r"|\bro (product|water|permeate)|\bfinished water|\bproduct water"
    r"|\b(nach|hinter)( der| dem)? ?(enthart|wasserenthart|aufbereit|filter|umkehrosmos)"
    r"|\benthartet|\bweichwasser|\bleitungswasser|\bkuchenhahn|\bzapfhahn|\bpermeat\b"
    r"|\bapres (l )?(adoucis|traite|filtr|osmos)|\beau (adoucie|traitee|osmosee|du robinet)"
    r"|\brobinet\b|\bdespues del? (ablandad|descalcif|filtro|tratam)|\bagua (tratada|ablandada|"
    r"descalcificada|del grifo)|\bgrifo\b|\bdopo (l )?(addolcit|filtr|tratt)|\bacqua (addolcita|"
    r"trattata|del rubinetto)|\brubinetto\b|\bna (de )?(ontharder|onthard|filter)|\bkraanwater"
)
_RAW = lazy(
    r"\b(raw|untreated|before|ahead|upstream|roh\w*|brut\w*|vor|avant|antes|cruda|prima|grezz\w*"
    r"|voor)\b|\b(softener|filter|treatment) inlet"
)


def origin_flags(sample: PrintedSample, notes: Iterable[str]) -> tuple[Flag, ...]:
    """Return a flag where a sample is by its name, its place or the report's heading no raw water.

    Parameters
    ----------
    sample : PrintedSample
        The sample, for its names. [-]
    notes : iterable of str
        Lines of the report above and beside the table. [-]

    Returns
    -------
    tuple of Flag
        `not_raw_water`, or nothing. [-]
    """
    own = [one for one in dict.fromkeys((sample.name, sample.sample, sample.site)) if one]
    if any(_RAW.search(_plain(one)) for one in own):
        return ()
    titles = [n.strip() for n in notes if 0 < len(n.strip()) <= LONGEST_TITLE][:MOST_TITLES]
    raw = any(kind_of_water(n) == "raw" for n in titles)
    # A name alone, of a boiler house say, is outweighed by a heading that says raw water.
    named = next((one for one in own if _treated(one) or (_says(one) and not raw)), "")
    if not named:
        named = next((n for n in titles if _treated(n)), "")
    if not named:
        return ()
    text = (
        f"the report says '{' '.join(named.split())}': that is no raw water, and what is designed "
        "by it does not hold for the water of the well: have the raw water analysed, ahead of "
        "every treatment, before anything is ordered"
    )
    return (Flag(NOT_RAW, "warning", text),)


def _says(name: str) -> bool:
    return _treated(name) or (kind_of_water(name) == "treated" and not names_a_place(name))


def _treated(text: str) -> bool:
    plain = _plain(text)
    return bool(_TREATED.search(plain)) and not _RAW.search(plain)


def _plain(text: str) -> str:
    spread = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(c for c in spread if not unicodedata.combining(c))
    return " ".join(re.sub(r"[\W_]+", " ", bare).split())
