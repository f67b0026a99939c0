"""What is dosed or would be: scale inhibitor, and what hydrogen sulfide asks for."""

from pretreat.stages.dosing.figures import chemicals, enter_feeder
from pretreat.stages.inhibitor.laws import inhibitor_g_h, inhibitor_kg_year
from pretreat.stages.packages import support
from pretreat.stages.train import Train

P = "inhibitor"
ENDS = (("low", "least"), ("high", "most"))


def enter(train: Train, _behind: tuple[str, ...]) -> None:
    """Enter dose, flow and yearly use of the scale inhibitor, as a range.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    _behind : tuple of str
        Keys of the water that stages behind it regenerate with. [-]
    """
    entries, found = train.entries, support()
    for end, word in ENDS:
        row = found[f"inhibitor_dose_{end}_mg_l"]
        entries.given(
            f"{P}.dose_{end}_mg_l",
            row.value,
            "mg/L",
            f"Scale inhibitor in the feed, {word}",
            method="common practice; the maker's dose governs",
        )
        entries.law(
            f"{P}.feed_{end}_g_h",
            inhibitor_g_h,
            feed_flow_m3_h="machine.feed_flow_m3_h",
            dose_mg_l=f"{P}.dose_{end}_mg_l",
            label=f"Scale inhibitor fed while running, {word}",
            evidence="common practice",
        )
        entries.law(
            f"{P}.{end}_kg_per_year",
            inhibitor_kg_year,
            feed_m3_d="machine.feed_m3_d",
            days_per_year="machine.days_per_year",
            dose_mg_l=f"{P}.dose_{end}_mg_l",
            label=f"Scale inhibitor per year, {word}",
            evidence="common practice",
        )
    _enter_feeder(train)
    low, high = (entries.value(f"{P}.feed_{end}_g_h") for end, _ in ENDS)
    entries.flag(
        "inhibitor_dosing",
        "info",
        f"scale inhibitor: {low:.2g} to {high:.2g} g/h while the machine runs, fed behind "
        "the filters and ahead of the cartridge; the maker's dose and the maker's limits "
        "govern (common practice here); stop the machine when the dosing stops",
        f"{P}.feed_high_g_h",
    )


def _enter_feeder(train: Train) -> None:
    """Enter dose, solution, pump and tank: the dose of the site file, else the middle one."""
    own, middle = train.design.inhibitor.dose_mg_l, support()["inhibitor_dose_mg_l"].value
    train.entries.given(
        f"{P}.dose_mg_l",
        middle if own is None else own,
        "mg/L",
        "Scale inhibitor in the feed",
        origin="assumed" if own is None else "chosen",
        method="the middle of common practice; the maker's dose governs" if own is None else "",
    )
    # A dose of the site file is what the quote counts with.
    year = f"{P}.kg_per_year" if own is None else "dosing.inhibitor_kg_per_year"
    enter_feeder(train, P, f"{P}.dose_mg_l", chemicals()["inhibitor"], year=year)
