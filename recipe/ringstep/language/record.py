"""Frozen records that cost little to define.

A frozen dataclass spends as long on being defined as this whole module: six functions are written
as text and compiled for each. A check runs for a fifth of a second, most of it imports, and passes
some forty kinds of records between its stages; so they are defined this way. To readers, to mypy
(`dataclass_transform`), to `dataclasses.replace` and `dataclasses.fields` they are dataclasses.
"""

from __future__ import annotations

from typing import Any, TypeVar, dataclass_transform

T = TypeVar("T")


class _Fields:
    """`__dataclass_fields__`, made when somebody asks for it."""

    def __get__(self, instance: object, owner: type) -> dict[str, Any]:
        from dataclasses import dataclass

        names = owner.__match_args__  # type: ignore[attr-defined]
        body = {"__annotations__": {n: owner.__annotations__[n] for n in names}}
        twin: Any = dataclass(type(owner.__name__, (), {**body, **owner.__defaults__}))  # type: ignore[attr-defined]
        fields: dict[str, Any] = twin.__dataclass_fields__
        owner.__dataclass_fields__ = fields  # type: ignore[attr-defined]
        return fields


def _init(self: Any, *args: Any, **named: Any) -> None:
    cls = type(self)
    names, values = cls.__match_args__, self.__dict__
    if len(args) > len(names):
        raise TypeError(f"{cls.__name__} takes {len(names)} values, not {len(args)}")
    values.update(cls.__defaults__)
    values.update(zip(names, args, strict=False))
    for name in named:
        if name not in names or names.index(name) < len(args):
            raise TypeError(f"{cls.__name__} got '{name}', which it does not take or has already")
    values.update(named)
    if len(values) < len(names):
        missing = [n for n in names if n not in values]
        raise TypeError(f"{cls.__name__} lacks {', '.join(missing)}")


def _values(self: Any) -> tuple[Any, ...]:
    return tuple(self.__dict__[n] for n in self.__match_args__)


def _repr(self: Any) -> str:
    told = ", ".join(f"{n}={self.__dict__[n]!r}" for n in self.__match_args__)
    return f"{type(self).__qualname__}({told})"


def _eq(self: Any, other: object) -> bool:
    if type(other) is not type(self):
        return NotImplemented  # type: ignore[no-any-return]
    return bool(_values(self) == _values(other))


def _hash(self: Any) -> int:
    return hash(_values(self))


def _frozen(self: Any, name: str, *value: object) -> None:
    raise AttributeError(f"{type(self).__name__}.{name} cannot be changed; use replace()")


@dataclass_transform(frozen_default=True)
def record(cls: type[T]) -> type[T]:
    """Make a frozen record of a class with annotated fields, as `@dataclass(frozen=True)` does.

    Defaults are plain values; there are no class variables among the annotations, no `field()` and
    no inheritance between records. Equality, hash and repr go by the fields.

    >>> @record
    ... class Wire:
    ...     mm: float
    ...     metal: str = "copper"
    >>> Wire(1.2) == Wire(mm=1.2, metal="copper"), Wire(1.2)
    (True, Wire(mm=1.2, metal='copper'))
    """
    # `inspect.get_annotations` would import inspect, and evaluates nothing here either.
    names = tuple(cls.__dict__.get("__annotations__", ()))  # noqa: RUF063
    made: Any = cls
    setattr(made, "__match_args__", names)  # noqa: B010  mypy knows the name as its own
    made.__defaults__ = {n: cls.__dict__[n] for n in names if n in cls.__dict__}
    made.__dataclass_fields__ = _Fields()
    made.__init__, made.__repr__, made.__eq__, made.__hash__ = _init, _repr, _eq, _hash
    made.__setattr__ = made.__delattr__ = _frozen
    return cls
