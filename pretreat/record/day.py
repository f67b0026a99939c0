"""The record up to one date, as the rules look at it."""

from collections.abc import Mapping
from types import MappingProxyType

from msgspec import Struct

from pretreat.record.levels import Level, new_level
from pretreat.record.reference import Reference
from pretreat.record.signs import LEAST_NOISE, Track, Tracks


class Evidence(Struct, frozen=True):
    """A fault seen at a date, and the sentences that show it."""

    fault: str
    sentences: tuple[str, ...]
    at_once: bool = False  # shown by readings that agree already
    likely: tuple[str, ...] = ()  # causes that the record speaks for
    unlikely: tuple[str, ...] = ()  # and against
    name: str = ""  # where it is not the usual one


class Day(Struct, frozen=True):
    """The record up to one date."""

    tracks: Tracks
    levels: Mapping[str, Level | None]
    reference: Reference

    def track(self, name: str) -> Track:
        """Return one value over time."""
        return self.tracks.by_name[name]

    def change(self, name: str) -> float:
        """Return by how much a value moved, 0 where it is not known."""
        found = self.levels.get(name)
        return 0.0 if found is None else found.change

    def beyond(self, name: str) -> float:
        """Return by how much a value moved beyond its age, 0 where it is not known."""
        found = self.levels.get(name)
        return 0.0 if found is None else found.beyond

    def steep(self, *names: str) -> bool:
        """Tell whether one of some values moved far at once."""
        found = [self.levels.get(name) for name in names]
        return any(level.steep for level in found if level is not None)

    def signs(self, name: str) -> float:
        """Return how many errors a value moved, 0 where it is not known."""
        found = self.levels.get(name)
        return 0.0 if found is None else found.signs

    def base(self, name: str) -> float:
        """Return the level of a value when new, NaN where it was never read."""
        track = self.track(name)
        return new_level(track.days, track.values, LEAST_NOISE.get(name, 0.0))


def day_of(found: Tracks, reference: Reference) -> Day:
    """Return a record at its last reading.

    Parameters
    ----------
    found : Tracks
        Every value over time. [-]
    reference : Reference
        Design of the site. [-]

    Returns
    -------
    Day
        Values and levels at that reading. [-]
    """
    temp = found.by_name["temperature"]
    levels = {name: found.by_name[name].level(temp) for name in LEAST_NOISE}
    return Day(found, MappingProxyType(levels), reference)
