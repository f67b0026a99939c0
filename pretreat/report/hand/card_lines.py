"""What stands on the settings card for each stage, packed into columns; no number of its own."""

from collections.abc import Sequence

from msgspec import Struct

from pretreat.core.results import Study
from pretreat.core.units import US_CUSTOMARY
from pretreat.stages import ORDER, Setting, Stage

NONE = "none"
TWICE_A_DAY = "twice a day"
_WORDS = {"d": "days", "min": "minutes", "gal": "US gal", "gpm": "US gpm", "-": ""}


class Line(Struct, frozen=True):
    """A line of the card: words with their unit, and the key of the figure beside them."""

    words: str
    key: str

    @property
    def in_days(self) -> bool:
        """Tell whether it is a setting of a timer, which may be twice a day."""
        return self.key.endswith((".programme_days", "_every_d"))


class Block(Struct, frozen=True):
    """What is set at one stage."""

    heading: str
    lines: tuple[Line, ...]


def blocks(study: Study, us: bool) -> tuple[Block, ...]:
    """Return what is set at every stage of the train, each with its lines.

    Parameters
    ----------
    study : Study
        Study of a site. [-]
    us : bool
        Whether the page is in US units. [-]

    Returns
    -------
    tuple of Block
        Stages with something to set. [-]
    """
    found = []
    for stage in ORDER:
        lines = _lines(study, stage, us)
        if lines:
            count = study.number(f"{stage.key}.vessels")
            each = ", each valve" if count is not None and count > 1.0 else ""
            found.append(Block(f"{stage.label}: set{each}", lines))
    return tuple(found)


def _lines(study: Study, stage: Stage, us: bool) -> tuple[Line, ...]:
    found: list[Line] = []
    for setting in stage.card:
        if not _is_set(study, stage, setting):
            continue
        key = setting.us_key if setting.us_key and us else setting.key
        if key in study.figures and not any(line.key == key for line in found):
            unit = unit_shown(study[key].unit, us)
            unit = _WORDS.get(unit, unit)
            found.append(Line(f"{setting.words}, {unit}" if unit else setting.words, key))
    return tuple(found)


def _is_set(study: Study, stage: Stage, setting: Setting) -> bool:
    """Tell whether the valve takes a setting: its control, and what the train feeds it with.

    None is told whose load the analysis does not hold.
    """
    if (
        setting.control
        and stage.key == "softener"
        and any(flag.code == "load_incomplete" for flag in study.flags)
    ):
        return False
    metered = f"{stage.key}.programme_in_words" in study.figures
    waits = isinstance(study.value(f"{stage.key}.meter_setting_delayed_m3"), float)
    in_run = any(
        flag.code == "washed_in_run" and (flag.figure or "").startswith(stage.key)
        for flag in study.flags
    )
    taken = {
        "": True,
        "clock": not metered,
        "meter": metered,
        "wait": metered and waits,
        "stopped": metered and in_run,
    }
    if setting.with_ and not (study.number(setting.with_) or 0.0) > 0.0:
        return False
    fed = bool(setting.without) and (study.number(setting.without) or 0.0) > 0.0
    return taken[setting.control] and not fed


def recovery_to_set(study: Study) -> float | None:
    """Return the recovery that the card orders, else the one wanted.

    Parameters
    ----------
    study : Study
        Study of a site. [-]

    Returns
    -------
    float or None
        Recovery. [-]
    """
    ordered = study.number("settings.recovery")
    return study.number("machine.recovery") if ordered is None else ordered


def unit_shown(unit: str, us: bool) -> str:
    """Return a unit as the page shows it.

    Parameters
    ----------
    unit : str
        Unit of a figure. [-]
    us : bool
        Whether the page is in US units. [-]

    Returns
    -------
    str
        The same, or its US twin. [-]
    """
    twin = US_CUSTOMARY.get(unit) if us else None
    return unit if twin is None else twin.unit


def packed(found: Sequence[Block], columns: int) -> tuple[tuple[str | Line, ...], ...]:
    """Return the lines in columns of about one height; a heading never ends a column.

    Parameters
    ----------
    found : sequence of Block
        Stages. [-]
    columns : int
        How many columns. [-]

    Returns
    -------
    tuple of tuple
        Headings and lines of each column. [-]
    """
    total = sum(1 + len(block.lines) for block in found)
    for height in range(max(2, -(-total // columns)), total + columns + 1):
        made = _filled(found, height)
        if len(made) <= columns:
            return (*made, *((),) * (columns - len(made)))
    return ((),) * columns


def _filled(found: Sequence[Block], height: int) -> list[tuple[str | Line, ...]]:
    made: list[list[str | Line]] = [[]]
    for block in found:
        if len(made[-1]) + 2 > height:
            made.append([])
        made[-1].append(block.heading)
        for line in block.lines:
            if len(made[-1]) == height:
                made.append([f"{block.heading.partition(':')[0]}, continued"])
            made[-1].append(line)
    return [tuple(column) for column in made]
