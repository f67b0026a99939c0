"""How the sections of the train enter their figures."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from msgspec import Struct

from pretreat.core.basis import Figure, Flag, Level, Value, citations
from pretreat.core.law import Law
from pretreat.core.results import Ledger
from pretreat.core.tables import analytes
from pretreat.site.design import DesignBasis
from pretreat.stages.bed.media import Medium
from pretreat.stages.decision import Mode, Question
from pretreat.stages.limits import TrainLimit
from pretreat.stages.stream import RawWater


class Entries(Struct, frozen=True):
    """A ledger with the ways in which a train's figures are entered."""

    ledger: Ledger

    def given(self, key: str, value: Value, unit: str, label: str, **more: Any) -> float:
        """Enter an input: a choice, an assumption or a standing value (see `Figure`)."""
        more.setdefault("origin", "assumed")
        more.setdefault("evidence", "common practice")
        more.setdefault("cites", ("PRACTICE",) if more["evidence"] == "common practice" else ())
        return self.ledger.put(key, value, unit, label, **more)

    def law(self, key: str, law: Law[..., Any], *, label: str, **more: Any) -> float:
        """Enter a result by a law (see `Ledger.law`); a gap that says nothing itself is flagged."""
        found = self.ledger.law(key, law, label=label, **more)
        if math.isnan(found) and not more.get("flags"):
            self.flag("no_setting", "info", f"{label}: open until a setting holds", key)
        return found

    def result(self, key: str, value: Value, unit: str, label: str, **more: Any) -> float:
        """Enter a result that is no law; what it rests on is said with `Ledger.rests`."""
        more.setdefault("cites", citations(*more.pop("by", ())))
        if value is None and not more.get("flags"):  # a gap that says itself why it is one
            self.flag("no_setting", "info", f"{label}: open until a setting holds", key)
        return self.ledger.put(key, value, unit, label, **more)

    def computed(self, key: str, value: Value, unit: str, label: str, **more: Any) -> float:
        """Enter a result that is no law, with the figures it rests on.

        ``inputs`` are their keys; ``again`` makes the value anew from theirs, in that order;
        ``held`` says that it stays on purpose; ``by`` are functions whose sources it cites.
        """
        inputs: tuple[str, ...] = more.pop("inputs")
        again: Callable[..., Any] | None = more.pop("again", None)
        held: bool = more.pop("held", False)
        more.setdefault("cites", citations(*more.pop("by", ())))
        found = self.ledger.put(key, value, unit, label, **more)

        def anew(value_of: Callable[[str], Any]) -> Any:
            return None if again is None else again(*(value_of(name) for name in inputs))

        self.ledger.rests(key, *inputs, again=anew if again else None, held=held)
        return found

    def word(self, key: str, text: str, label: str, **more: Any) -> None:
        """Enter a text."""
        self.ledger.add(Figure(key, text, "-", label, **more))

    def medium(self, prefix: str, medium: Medium, name: str, label: str) -> float:
        """Enter a property of a medium with its source; return it."""
        found = medium.properties[name]
        return self.given(
            f"{prefix}.{name}",
            found.value,
            found.unit,
            label,
            cites=(found.source,),
            evidence=found.evidence,
            method=found.where,
        )

    def limit(self, limit: TrainLimit) -> str:
        """Enter a limit with its source, once; return its key."""
        key = f"train.limit_{limit.key}"
        if key not in self.ledger:
            self.given(
                key,
                limit.value,
                limit.unit,
                f"Limit: {limit.meaning}",
                cites=(limit.source,),
                evidence=limit.evidence,
                method=limit.where,
            )
        return key

    def flag(self, code: str, level: Level, text: str, figure: str | None = None) -> None:
        """Enter a flag."""
        self.ledger.flag(Flag(code, level, text, figure))

    def value(self, key: str) -> float:
        """Return a number entered before."""
        number = self.ledger.number(key)
        if number is None:
            raise KeyError(key)
        return number

    def dissolved(self, raw: RawWater, ion: str) -> str:
        """Return the key of the figure that holds an ion of the raw water."""
        return self._holding(
            (f"water.{ion}_mg_l", f"water.{ion}_implied_mg_l"),
            f"train.feed_{ion}_mg_l",
            ion,
            raw.mg_l.get(ion, 0.0),
        )

    def total(self, raw: RawWater, ion: str) -> str:
        """Return the key of the figure that holds the total of a metal."""
        tried = (f"water.{ion}_total_mg_l", f"water.{ion}_mg_l", f"train.feed_{ion}_mg_l")
        return self._holding(tried, f"train.feed_{ion}_total_mg_l", ion, raw.total(ion))

    def _holding(self, tried: tuple[str, ...], own: str, ion: str, value: float) -> str:
        for key in (*tried, own):
            if self.ledger.number(key) == value:
                return key
        name = analytes()[ion].name
        self.given(
            own,
            value,
            "mg/L",
            f"{name.capitalize()} taken into the sizing",
            method="not detected or not measured: the value the design basis asks for",
            evidence="computed",
        )
        return own


class Train(Struct, frozen=True):
    """What every section of the train works with."""

    entries: Entries
    raw: RawWater
    design: DesignBasis
    mode: Mode
    question: Question | None = None  # what was asked when the stages were chosen
    # Salt passage by ion, recycle as a share of the array's feed, and polarisation.
    membrane: tuple[Mapping[str, float], float, float] = ({}, 0.0, 1.0)

    def has(self, key: str) -> bool:
        """Tell whether a stage is in the train."""
        decision = None if self.question is None else self.question.ahead.get(key)
        return decision is not None and decision.included

    def water_of(self, stage: str) -> tuple[str, str]:
        """Return the keys of the flow [m3/h] and of a day's water [m3/d] that pass a stage."""
        if stage == "softener" and self.has("bypass"):
            return "bypass.softened_m3_h", "bypass.softened_m3_d"
        return "machine.feed_flow_m3_h", "machine.feed_m3_d"

    @property
    def free_chlorine_mg_l(self) -> float:
        """Free chlorine behind the filters [mg/L]."""
        question = self.question or Question(self.raw, self.design, self.mode)
        return question.free_chlorine_mg_l()

    @property
    def sizing(self) -> bool:
        """Tell whether vessels are chosen rather than rated."""
        return self.mode == "size"


__all__ = ["Entries", "Mode", "Train"]
