"""What whoever starts the page may choose, and the limits that keep it safe."""

import os

from msgspec import Struct, field

MEGABYTE = 1024 * 1024
LOCAL_HOSTS = ("127.0.0.1", "localhost", "[::1]")
HOSTS_VARIABLE = "PRETREAT_PAGE_HOSTS"


class Opening(Struct, frozen=True):
    """A site that the page opens with: the text of its file, and the files that it names."""

    name: str
    site: str
    files: tuple[tuple[str, bytes], ...] = ()


class Settings(Struct, frozen=True):
    """Names the page answers to, and limits of a request.

    ``hosts`` are names without a port; ``most_bytes`` bounds the body of a request; a
    computation is ended after ``seconds``, or when it asks for more than ``megabytes``.
    """

    hosts: tuple[str, ...] = LOCAL_HOSTS
    workers: int = field(default_factory=lambda: max(1, min(4, os.cpu_count() or 1)))
    quick: int = 1  # workers more, for what is soon done: a slider waits behind no whole run
    most_bytes: int = 16 * MEGABYTE
    most_files: int = 20
    most_fields: int = 100
    most_bodies: int = 16  # held in memory at once; others wait
    upload_seconds: float = 60.0
    waiting_seconds: float = 60.0
    seconds: float = 60.0
    megabytes: int = 3072  # of address space; a study takes a few hundred
    opening: Opening | None = None


def settings_from_environment() -> Settings:
    """Return the settings of a server that stands behind a proxy.

    Returns
    -------
    Settings
        The defaults, and the host names of ``PRETREAT_PAGE_HOSTS``, parted by commas. [-]
    """
    named = os.environ.get(HOSTS_VARIABLE, "").split(",")
    more = tuple(name.strip().casefold() for name in named if name.strip())
    return Settings(hosts=(*LOCAL_HOSTS, *more))
