"""Vessels and elements of a machine."""

from msgspec import Struct, field

from pretreat.core.basis import cites
from pretreat.core.errors import DesignError, check_range
from pretreat.membrane.elements.element import Element

MOST_VESSELS, MOST_PER_VESSEL, MOST_STAGES = 200, 8, 4
BACK_PRESSURE_RANGE_BAR = (0.0, 10.0)
BOOST_RANGE_BAR = (0.0, 40.0)


@cites("PRACTICE", "back pressure of a product line to a tank, piping between stages")
def _usual_pressures() -> tuple[float, float]:
    return 0.5, 0.2  # product, interstage; bar


def _usual_product_bar() -> float:
    return _usual_pressures()[0]


def _usual_interstage_bar() -> float:
    return _usual_pressures()[1]


class Array(Struct, frozen=True):
    """Vessels per stage, elements per vessel, and the pressures around them.

    ``throttle_bar`` is added to the product pressure stage by stage, ``boost_bar`` to the feed
    of each stage (the first 0): both level the flux of a tapering array.
    """

    element: Element
    vessels: tuple[int, ...] = (1,)
    elements_per_vessel: int = 1
    product_bar: float = field(default_factory=_usual_product_bar)
    interstage_bar: float = field(default_factory=_usual_interstage_bar)
    throttle_bar: tuple[float, ...] = ()
    boost_bar: tuple[float, ...] = ()

    @property
    def elements(self) -> int:
        """How many elements there are. [-]."""
        return sum(self.vessels) * self.elements_per_vessel

    @property
    def area_m2(self) -> float:
        """Membrane area of the whole array. [m²]."""
        return self.elements * self.element.area_m2

    @property
    def in_series(self) -> int:
        """Elements that the feed passes one after the other. [-]."""
        return len(self.vessels) * self.elements_per_vessel


def check_array(array: Array) -> None:
    """Refuse an array that cannot be built.

    Parameters
    ----------
    array : Array
        The array. [-]

    Raises
    ------
    DesignError
        If a count is not a whole number in its range, or a list has the wrong length.
    OutOfRangeError
        If a pressure is outside its range.
    """
    stages = len(array.vessels)
    if not 1 <= stages <= MOST_STAGES:
        raise DesignError(f"array has {stages} stages: give vessels per stage for 1 to 4 stages")
    for count, most, name in (
        *((n, MOST_VESSELS, "vessels in a stage") for n in array.vessels),
        (array.elements_per_vessel, MOST_PER_VESSEL, "elements per vessel"),
    ):
        if isinstance(count, bool) or count != int(count) or not 1 <= count <= most:
            raise DesignError(f"{name} is {count!r}: give a whole number from 1 to {most}")
    for values, name in (
        (array.throttle_bar, "product throttle"),
        (array.boost_bar, "boost"),
    ):
        if values and len(values) != stages:
            raise DesignError(f"{name} has {len(values)} values for {stages} stages: give one each")
        for value in values:
            check_range(f"{name} of a stage", value, BOOST_RANGE_BAR, "bar", "PRACTICE")
    check_range("product pressure", array.product_bar, BACK_PRESSURE_RANGE_BAR, "bar", "PRACTICE")
    check_range(
        "pressure loss between stages",
        array.interstage_bar,
        BACK_PRESSURE_RANGE_BAR,
        "bar",
        "PRACTICE",
    )
