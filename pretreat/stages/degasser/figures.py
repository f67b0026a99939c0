"""The degasser: carbon dioxide out, pH up."""

from pretreat.stages.stream import Stream
from pretreat.stages.stripped import strip
from pretreat.stages.train import Train


def treat(train: Train, stream: Stream) -> Stream:
    """Return the water behind the degasser: less carbon dioxide, oxygen in it.

    Parameters
    ----------
    train : Train
        Ledger, water, design and mode. [-]
    stream : Stream
        The water ahead. [-]

    Returns
    -------
    Stream
        The water behind it. [-]
    """
    return strip(train, stream, "degasser", "degasser")
