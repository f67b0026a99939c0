"""What a vessel named by its nominal size is filled with, where that is not given."""

from typing import Literal

from pretreat.stages.train import Train


def filling_origin(train: Train, stage: str, volume: str) -> Literal["chosen", "assumed"]:
    """Tell whether a volume was given, or is the usual filling of a nominal vessel; flag that.

    Parameters
    ----------
    train : Train
        Ledger and design. [-]
    stage : str
        Key of the stage. [-]
    volume : str
        Field of the volume of its medium. [-]

    Returns
    -------
    str
        "chosen" or "assumed". [-]
    """
    choice = getattr(train.design, stage)
    if choice.vessel is None or f"{stage}.{volume}" in train.design.chosen:
        return "chosen"
    train.entries.flag(
        "filling_assumed",
        "caution",
        f"[{stage}] {volume.rpartition('_')[0]} is not given: {getattr(choice, volume):.3g} L "
        f"taken, the usual filling of a vessel of {choice.vessel} (common practice); measure the "
        "depth of the bed",
    )
    return "assumed"
