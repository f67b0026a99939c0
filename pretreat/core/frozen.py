"""Frozen dataclasses that are quick to make: a class costs a tenth of one of the library's.

The program has some three hundred of them, and each command loads most. The library writes and
compiles six functions for each; here they are closures, and ``__init__`` is compiled when the
first one is made. To a reader, to `replace` and to a type checker it is the same dataclass.
"""

import dataclasses
from collections.abc import Callable
from operator import attrgetter
from reprlib import recursive_repr
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from dataclasses import dataclass
else:

    def dataclass(*, frozen: bool, slots: bool) -> Callable[[type], type]:
        """Return the decorator of a frozen dataclass with slots.

        Parameters
        ----------
        frozen, slots : bool
            Both true; written out, so that the class says what it is. [-]

        Returns
        -------
        callable
            A decorator. [-]

        Raises
        ------
        TypeError
            For any other dataclass, and for one with ``__post_init__``: the library makes those.
        """
        if not (frozen and slots):
            raise TypeError("for another dataclass take that of the library")
        return _made


Setters = dict[str, Callable[[Any, Any], None]]


def _made(cls: type) -> Any:
    if hasattr(cls, "__post_init__"):
        raise TypeError(f"{cls.__name__} has __post_init__: take the dataclass of the library")
    made: Any = dataclasses.dataclass(init=False, repr=False, eq=False, slots=True)(cls)
    setters = {name: getattr(made, name).__set__ for name in made.__dataclass_fields__}
    methods = {
        "__init__": _late_init(made, setters),
        "__repr__": _repr,
        **_compared(made),
        **_pickled(setters),
        "__setattr__": _refuse_change,
        "__delattr__": _refuse_deletion,
    }
    for name, method in methods.items():
        if vars(cls).get(name) is None:
            setattr(made, name, method)
    return made


def _late_init(made: Any, setters: Setters) -> Callable[..., None]:
    """Return an ``__init__`` that puts the compiled one in its place at the first call."""

    def init(self: Any, *args: Any, **kwargs: Any) -> None:
        made.__init__ = _compiled_init(made, setters)
        made.__init__(self, *args, **kwargs)

    return init


def _compiled_init(made: Any, setters: Setters) -> Any:
    given: dict[str, Any] = {"_missing": dataclasses.MISSING}
    arguments, lines = ["self"], []
    for name, field in made.__dataclass_fields__.items():
        given[f"_set_{name}"] = setters[name]
        argument = value = name
        if field.default is not dataclasses.MISSING:
            given[f"_default_{name}"] = field.default
            argument = f"{name}=_default_{name}"
        elif field.default_factory is not dataclasses.MISSING:
            given[f"_make_{name}"] = field.default_factory
            argument = f"{name}=_missing"
            value = f"_make_{name}() if {name} is _missing else {name}"
        arguments.append(argument)
        lines.append(f"  _set_{name}(self, {value})")
    text = f"def __init__({', '.join(arguments)}):\n" + ("\n".join(lines) or "  pass")
    exec(text, given)  # noqa: S102 - as the library does, from the names of the fields alone
    function = given["__init__"]
    function.__qualname__ = f"{made.__qualname__}.__init__"
    return function


@recursive_repr()
def _repr(self: Any) -> str:
    shown = (name for name, field in self.__dataclass_fields__.items() if field.repr)
    inside = ", ".join(f"{name}={getattr(self, name)!r}" for name in shown)
    return f"{type(self).__qualname__}({inside})"


def _compared(made: Any) -> dict[str, Callable[..., Any]]:
    """Return what tells whether two are equal."""
    names = [name for name, field in made.__dataclass_fields__.items() if field.compare]
    values: Callable[[Any], Any] = attrgetter(*names) if names else type

    def equal(self: Any, other: object) -> Any:
        if other.__class__ is not self.__class__:
            return NotImplemented
        return values(self) == values(other)

    def hashed(self: Any) -> int:
        return hash(values(self))

    return {"__eq__": equal, "__hash__": hashed}


def _pickled(setters: Setters) -> dict[str, Callable[..., Any]]:
    """Return what carries one into another process."""

    def state(self: Any) -> list[Any]:
        return [getattr(self, name) for name in setters]

    def restore(self: Any, state: list[Any]) -> None:
        for name, value in zip(setters, state, strict=True):
            setters[name](self, value)

    return {"__getstate__": state, "__setstate__": restore}


def _refuse_change(_self: Any, name: str, _value: Any) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot assign to field {name!r}")


def _refuse_deletion(_self: Any, name: str) -> None:
    raise dataclasses.FrozenInstanceError(f"cannot delete field {name!r}")


__all__ = ["dataclass"]
