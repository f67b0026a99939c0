"""The method: every equation with its units, its range, its sources and a worked line."""

import inspect
import pkgutil
import re
import tomllib
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import import_module, resources
from typing import Any

import pretreat
from docs.generate.equations import equation, words
from docs.generate.markdown import anchor, cell, code, generated, sentence, table
from docs.generate.studies import figures, laws_used
from pretreat.core.law import LAWS, Law
from pretreat.core.names import unit_of, words_of
from pretreat.core.tables import rows, sources
from pretreat.stages import ORDER, train_in_words
from pretreat.stages.stage import Stage

# Pages that are no unit process: file, title, what they hold, modules, prefixes of figures.
SHARED = (
    ("water", "Reading the water", "pretreat.lab", "water feed untreated.water"),
    (
        "membranes",
        "Membranes and concentrate",
        "pretreat.membrane",
        "concentrate scaling recovery product settings",
    ),
    ("beds", "What all beds share", "pretreat.stages.bed pretreat.stages.filters", ""),
    (
        "dosing",
        "Oxidation, stripping and dosing",
        "pretreat.stages.dosing pretreat.stages.oxidation pretreat.stages.oxidant_feed "
        "pretreat.stages.stripping pretreat.stages.carbonate",
        "dosing",
    ),
    (
        "plant",
        "The plant as a whole",
        "pretreat.plant pretreat.stages pretreat.site",
        "machine supply tanks pump storage programme water_balance verdict train",
    ),
    ("life", "Life of the media and cost", "pretreat.life", "media_life costs discharge"),
    ("quote", "The quote", "pretreat.quote", "quote offer consumables prices"),
    ("record", "The record", "pretreat.record pretreat.core pretreat.chemistry", "record"),
)
DOCTEST = re.compile(r"^\s*>>> (.*)\n((?:\s*\.\.\. .*\n)*)((?:(?!\s*>>>)\s*\S.*\n?)*)", re.M)
COMPARED = re.compile(r"([a-z0-9_]+) (<=|>=|<|>) (\S+)")


@lru_cache(maxsize=1)
def laws() -> Mapping[str, Law[..., Any]]:
    """Return every law of the program by its name, in the order of its room."""
    for module in pkgutil.walk_packages(pretreat.__path__, "pretreat."):
        if not module.name.startswith(("pretreat.cli", "pretreat.page", "pretreat.data")):
            import_module(module.name)
    return {name: one for name, one in LAWS.items() if name.startswith("pretreat.")}


@lru_cache(maxsize=1)
def _pages() -> dict[str, list[str]]:
    """Return the names of the laws of each page; the longest fitting room takes a law."""
    rooms = {f"pretreat.stages.{stage.key}": stage.key for stage in ORDER}
    for slug, _, modules, _ in SHARED:
        rooms |= dict.fromkeys(modules.split(), slug)
    found: dict[str, list[str]] = {slug: [] for slug in rooms.values()}
    for name in laws():
        module = name.split(":")[0]
        room = max((r for r in rooms if f"{module}.".startswith(f"{r}.")), key=len)
        found[rooms[room]].append(name)
    return found


def page_of(law: str) -> str:
    """Return the page on which a law stands."""
    return next(slug for slug, names in _pages().items() if law in names)


def link(law: str, up: str) -> str:
    """Return the place of a law, seen from another page."""
    return f"{up}{page_of(law)}.md#{law_anchor(law)}"


def law_anchor(law: str) -> str:
    """Return the anchor of a law on its page."""
    return anchor(law.removeprefix("pretreat."))


def pages() -> Iterator[tuple[str, str, str]]:
    """Yield file, title and text of each page of the method."""
    for stage in ORDER:
        title = stage.label
        yield f"method/{stage.key}.md", title, _page(title, stage.key, (stage.key,), stage)
    for slug, title, _, prefixes in SHARED:
        yield f"method/{slug}.md", title, _page(title, slug, tuple(prefixes.split()), None)
    yield "method/minerals.md", "Minerals and constants", _minerals()
    yield "method/sources.md", "Sources", _sources()


def _page(title: str, slug: str, prefixes: tuple[str, ...], stage: Stage | None) -> str:
    parts = []
    if stage is not None:
        parts += [_about(stage), _chosen(stage)]
    names = _pages()[slug]
    parts.append("## Equations" if names else "")
    parts += [_law(name) for name in names]
    parts += [_borrowed(slug, prefixes), _no_law(prefixes), _cautions(stage)]
    origin = "the laws of the program and the studies of the demo sites"
    return generated(title, origin, "\n\n".join(filter(None, parts)))


def _about(stage: Stage) -> str:
    module = import_module(f"pretreat.stages.{stage.key}.stage")
    side = "behind the membranes" if stage.side == "product" else "ahead of the membranes"
    what = sentence((module.__doc__ or "").split("\n\n")[0])
    table_of = f"[`[{stage.key}]`](../reference/site_file.md#{anchor(stage.key)})"
    keys = f" Its choices stand in the table {table_of} of the site file." if stage.site else ""
    return f"{what} Stage key `{stage.key}`, {side}.{keys}"


def _chosen(stage: Stage) -> str:
    """Return the ways of treating in which the stage stands, with their conditions."""
    ways = [r for r in rows("train_options.csv") if stage.key in r["stages"].split(" + ")]
    if not ways:
        return ""
    lines = [
        (
            cell(sentence(row["words"]).rstrip(".")),
            cell(train_in_words(row["stages"])),
            cell(_conditions(row["when"])) or "always",
            cell(_conditions(row["conditions"])),
            _cited(row["source"], row["where"], row["evidence"]),
        )
        for row in ways
    ]
    heads = ("way", "stages of it", "looked at where", "dropped unless", "source")
    return "## Where it is considered\n\n" + table(heads, lines)


def _conditions(text: str) -> str:
    """Return conditions in signs a reader knows."""
    signs = {"<=": "≤", ">=": "≥", "<": "<", ">": ">"}
    said = COMPARED.sub(lambda m: f"{m[1].replace('_', ' ')} {signs[m[2]]} {m[3]}", text)
    return said.replace(" | ", " or ").replace("known ", "measured: ").replace("_", " ")


def _law(name: str) -> str:
    law = laws()[name]
    doc = inspect.getdoc(law) or ""
    first, _, rest = doc.partition("\n\n")
    own = name.split(":")[1]
    used = [(key, worked) for used, key, worked in laws_used() if used == name]
    title = " ".join(words_of(own).split()).capitalize() or own
    unit = unit_of(own)
    parts = [
        f"### {title}"
        + (f" [{unit}]" if unit not in {None, "-"} else "")
        + f" {{ #{law_anchor(name)} }}",
        sentence(first),
        equation(law, own),
        _variables(law),
        _check(rest),
        _sources_of(law),
    ]
    if used:
        shown = ", ".join(
            f"[{code(key)}](../reference/figures.md#{anchor(key)})" for key, _ in used[:4]
        )
        more = f" and {len(used) - 4} more" if len(used) > 4 else ""
        parts.append(f"**Figures:** {shown}{more}")
        if used[0][1]:
            parts.append(f"**Worked:** {cell(used[0][1])}")
    return "\n\n".join(filter(None, parts))


def _variables(law: Law[..., Any]) -> str:
    lines, called = [], words(law)
    for name, parameter in inspect.signature(law.function).parameters.items():
        allowed = str(law.validity[name]) if name in law.validity else ""
        default = parameter.default
        usual = "" if default is inspect.Parameter.empty or default is None else f"{default:g}"
        lines.append((cell(called[name]), cell(unit_of(name) or "-"), allowed, usual))
    heads = ["quantity", "unit", "valid", "usual"]
    if not any(line[3] for line in lines):
        heads, lines = heads[:3], [line[:3] for line in lines]
    return table(heads, lines) if lines else ""


def _check(rest: str) -> str:
    """Return the value from outside that the docstring holds, in words and as a call."""
    calls = [f"{m[1]} → {m[3].strip()}" for m in DOCTEST.finditer(rest + "\n")]
    said = DOCTEST.sub("", rest + "\n").strip()
    said = " ".join(said.split())
    shown = "; ".join(f"`{call}`" for call in calls)
    return f"**Checked against:** {cell(said) + ' ' if said else ''}{shown}" if calls else said


def _cited(key: str, where: str, evidence: str = "") -> str:
    place = f", {cell(where)}" if where else ""
    tag = f" *({evidence})*" if evidence else ""
    return f"[{key}](sources.md#{anchor(key)}){place}{tag}"


def _sources_of(law: Law[..., Any]) -> str:
    if not law.citations:
        return "**Source:** definition or mass balance"
    return "**Source:** " + "; ".join(_cited(c.source, c.where) for c in law.citations)


def _borrowed(slug: str, prefixes: tuple[str, ...]) -> str:
    """Return the laws of other rooms behind figures of this page."""
    found: dict[str, list[str]] = {}
    for name, key, _ in laws_used():
        if key.split(".")[0] in prefixes and page_of(name) != slug:
            found.setdefault(name, []).append(key)
    if not found:
        return ""
    lines = [
        (
            ", ".join(f"[{code(k)}](../reference/figures.md#{anchor(k)})" for k in keys[:3]),
            f"[{cell(words_of(name.split(':')[1]))}]({link(name, '')})",
        )
        for name, keys in found.items()
    ]
    return "## By equations of other pages\n\n" + table(("figure", "equation"), lines)


def _no_law(prefixes: tuple[str, ...]) -> str:
    """Return the figures of the page that are chosen, looked up or computed by other code."""
    by_law = {key for _, key, _ in laws_used()}
    lines = [
        (
            f"[{code(key)}](../reference/figures.md#{anchor(key)})",
            cell(figure.label),
            cell(figure.unit),
            cell(figure.method or figure.origin),
            ", ".join(_cited(source, "") for source in figure.cites),
        )
        for key, (_, figure) in figures().items()
        if key.startswith(tuple(f"{p}." for p in prefixes)) and key not in by_law
    ]
    if not lines:
        return ""
    heads = ("figure", "what", "unit", "how", "source")
    return "## Given, chosen or looked up\n\n" + table(heads, lines)


def _cautions(stage: Stage | None) -> str:
    if stage is None or not stage.cautions:
        return ""
    lines = [
        f"- {cell(row['text'])} {_cited(row['source'], row['where'], row['evidence'])}"
        for row in rows("cautions.csv")
        if row["topic"] in stage.cautions
    ]
    return "## Cautions\n\n" + "\n".join(lines) if lines else ""


def all_cautions() -> str:
    """Return every caution as one table, sources seen from the top of the pages."""
    lines = [
        (
            cell(row["topic"].replace("_", " ")),
            row["level"],
            cell(row["text"]),
            _cited(row["source"], row["where"], row["evidence"]).replace("](", "](method/"),
        )
        for row in rows("cautions.csv")
    ]
    return table(("topic", "level", "words", "source"), lines)


def _minerals() -> str:
    heads = ("mineral", "reaction", "log K, 25 °C", "log K(T)", "role", "source", "note")
    lines = []
    for row in rows("minerals.csv"):
        terms = [row[f"a{i}"] for i in range(1, 6)]
        given = "by T" if any(t not in {"", "0"} for t in terms) else "van 't Hoff"
        lines.append(
            (
                cell(row["name"]),
                cell(row["reaction"]),
                row["log_k"],
                given,
                cell(row["role"]),
                _cited(row["source"], row["where"], row["evidence"]),
                cell(row["note"]),
            )
        )
    limits = [
        (
            cell(row["name"]),
            row["inhibitor"],
            cell(row["unit"]),
            row["low"],
            row["likely"],
            row["high"],
            _cited(row["source"], row["where"], row["evidence"]),
        )
        for row in rows("limits.csv")
    ]
    body = (
        "SI = log₁₀(IAP/K). `log K(T)` *by T* is the sum A1 + A2·T + A3/T + A4·log₁₀T + A5/T², "
        "*van 't Hoff* a constant heat of reaction.\n\n"
        + table(heads, lines)
        + "\n## Limits\n\n"
        + table(("scale", "inhibitor", "unit", "low", "likely", "high", "source"), limits)
    )
    return generated("Minerals and constants", "`minerals.csv` and `limits.csv`", body)


def _sources() -> str:
    notes: dict[str, dict[str, str]] = {}
    for item in sorted(resources.files("pretreat.data").iterdir(), key=lambda i: i.name):
        if item.name.startswith("sources") and item.name.endswith(".toml"):
            notes |= tomllib.loads(item.read_text("utf-8"))
    tags: dict[str, set[str]] = {}
    for item in resources.files("pretreat.data").iterdir():
        if item.name.endswith(".csv"):
            for row in rows(item.name):
                tags.setdefault(row["source"], set()).add(row["evidence"])
    lines = [
        (
            f'<span id="{anchor(key)}"></span>{code(key)}',
            cell(text),
            ", ".join(sorted(tags.get(key, ()))),
        )
        for key, text in sorted(sources().items())
    ]
    body = (
        "The tag says how the numbers of a table are known: *printed* where the page itself was "
        "read, *database* for a published data file, *computed* for a result of our own, *read on "
        "site* for a gauge, a meter, a test kit or a count; *memory* and *common practice* are "
        "defaults, to be overridden by whoever knows better.\n\n"
        + table(("key", "source", "tags of its rows"), lines)
    )
    return generated("Sources", "`data/sources*.toml`", body)
