"""What limits a softener that stands there, and what would improve it."""

from pretreat.core.basis import Series
from pretreat.stages.bed.programme import calendar_setting_d
from pretreat.stages.softener.resin import CapacityTable, operating_capacity_g_l
from pretreat.stages.train import Train

P = "softener"
FEWER_HOURS = 0.75  # the running time of one line of the table


def enter_improvements(train: Train, table: CapacityTable) -> None:
    """Enter what limits the softener's interval, and the interval after each change.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    table : CapacityTable
        Capacity against salt dose. [-]
    """
    entries = train.entries
    interval, longest = entries.value(f"{P}.interval_d"), entries.value(f"{P}.longest_gap_d")
    if interval <= longest:
        limit = "capacity: resin, salt dose and reserve against hardness and water"
    elif longest < 7.0:  # the longest setting of a timer is seven days
        limit = "iron on the resin: three days at most"
    else:
        limit = "the timer: seven days at most"
    entries.word(
        f"{P}.limited_by", limit, "What limits the softener's setting", origin="calculated"
    )
    entries.ledger.rests(f"{P}.limited_by", f"{P}.interval_d", f"{P}.longest_gap_d")
    if not entries.ledger.shown:
        return
    capacity = entries.value(f"{P}.capacity_g_caco3_l")
    best = operating_capacity_g_l(table.dose_g_l[-1], table)
    reserve, factor = entries.value(f"{P}.reserve"), entries.value(f"{P}.capacity_factor")
    changes = [("as it is", 1.0)]
    changes.append((f"salt dose {table.dose_g_l[-1]:.0f} g/L", best / capacity))
    changes.append(("twice the resin", 2.0))
    if reserve > 0:
        changes.append(("no reserve (a meter with a second vessel)", 1.0 / (1.0 - reserve)))
    if factor < 1:
        changes.append(("new resin", 1.0 / factor))
    changes.append(("three quarters of the running hours", 1.0 / FEWER_HOURS))
    rows = []
    for change, share in changes:
        hours = entries.value("machine.hours_per_day") * (FEWER_HOURS if "hours" in change else 1.0)
        setting = calendar_setting_d(interval * share, hours, longest)
        rows.append((change, interval * share, setting))
    entries.ledger.table(
        Series(
            f"{P}.improvements",
            "What would lengthen the softener's interval",
            ("change", "interval_d", "setting_d"),
            ("-", "d", "d"),
            tuple(rows),
            headings=("Change", "Interval", "Setting of the timer"),
            cites=(table.source,),
            method="one change at a time; more salt also lowers the leakage",
        )
    )
