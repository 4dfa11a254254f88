"""Dataclasses from plain data (TOML tables, JSON objects, forms) and back.

`from_data` checks the names and types of all entries by the class's annotations. Ranges belong in
the class's own `__post_init__`, with `within` and `one_of` of drill.core.validation, or in an
annotation: `Annotated[str, max_length(40)]`. No library is used for this, because the messages have
to repeat the wrong value, and errors from `__post_init__` have to name the nested field.

A class whose fields were renamed after a release still reads and writes the released keys with
`STORED_NAMES: ClassVar[Mapping[str, str]] = {"formant_scale": "tract"}` (name now: stored name).

A record repeats the same words, operators and conditions thousands of times. Equal data therefore
gives the same object if its class is frozen and has only simple fields (`_is_simple`). The
`__post_init__` of such a class must depend on nothing but its fields.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from types import NoneType, UnionType
from typing import Annotated, Any, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

from drill.core.errors import UserError
from drill.core.validation import (
    Check,
    checked_flag,
    checked_integer,
    checked_list,
    checked_number,
    checked_table,
    checked_text,
    dotted,
    known_keys,
    one_of,
    required_keys,
    wrong_type,
)

T = TypeVar("T")

MOST_SHARED = 2000
"""Objects of one class that are kept to be shared."""
LONGEST_SHARED = 500
"""Longest data, in characters, whose object is kept."""


def from_data(cls: type[T], data: Any, where: str = "") -> T:
    """Return an object of a dataclass from a mapping, as TOML, JSON or dataclasses.asdict give it.

    Supported annotations: float (accepts whole numbers), int, bool, str, Any, Literal of texts,
    X | None and other unions, tuple[X, ...] (from a list), dict[str, X], nested dataclasses, and
    Annotated with checks. Fields with a default may be missing. Both names of a field in
    STORED_NAMES are read. Any other entry is an error.
    where: dotted name of the data itself if it is part of something larger.

    Raises: UserError with the dotted name of the wrong entry, whether a type is wrong or
    `__post_init__` refused the value; TypeError for an unsupported annotation.
    """
    hint: Any = cls
    result: T = _check_for(hint)(where, data)
    return result


def to_data(value: Any) -> Any:
    """Return a dataclass object, with everything in it, as plain data for JSON.

    Like dataclasses.asdict, but fields in STORED_NAMES get their stored names, fields in
    NOT_STORED_IF_EMPTY are left out if they are empty, and tuples become lists. from_data reverses
    it.
    """
    if is_dataclass(value):
        stored = _stored_names(value)
        omissible: frozenset[str] = getattr(value, "NOT_STORED_IF_EMPTY", frozenset())
        return {
            stored.get(field.name, field.name): to_data(getattr(value, field.name))
            for field in fields(value)
            if field.name not in omissible or getattr(value, field.name)
        }
    if isinstance(value, list | tuple):
        return [to_data(entry) for entry in value]
    if isinstance(value, dict):
        return {key: to_data(entry) for key, entry in value.items()}
    return value


def max_length(longest: int) -> Check:
    """Return a check for `Annotated[str, max_length(40)]`."""

    def check(field: str, value: Any) -> Any:
        return checked_text(field, value, longest=longest)

    return check


def max_items(most: int) -> Check:
    """Return a check for `Annotated[tuple[str, ...], max_items(100)]`."""

    def check(field: str, value: Any) -> Any:
        return checked_list(field, value, lambda _, entry: entry, most=most)

    return check


_SIMPLE: dict[Any, Check] = {
    float: checked_number,
    int: checked_integer,
    bool: checked_flag,
    str: checked_text,
    Any: lambda _, value: value,
}
_TYPE_NAMES = {
    float: "a number",
    int: "a whole number",
    bool: "true or false",
    str: "text",
    NoneType: "null",
}


@cache
def _check_for(hint: Any) -> Check:
    """Return the check of an annotation; cached because a record has hundreds of values."""
    if hint in _SIMPLE:
        return _SIMPLE[hint]
    if is_dataclass(hint):
        return _dataclass_check(hint)
    make_check = _GENERIC.get(get_origin(hint))
    if make_check is None:
        raise TypeError(f"from_data cannot check a field of type {hint}")
    return make_check(get_args(hint))


def _dataclass_check(cls: Any) -> Check:
    hints = get_type_hints(cls, include_extras=True)
    own_fields = [field for field in fields(cls) if field.init]
    checks = {field.name: _check_for(hints[field.name]) for field in own_fields}
    required = [
        field.name
        for field in own_fields
        if field.default is MISSING and field.default_factory is MISSING
    ]
    present_names = {stored: name for name, stored in _stored_names(cls).items()}
    checks |= {stored: checks[name] for stored, name in present_names.items()}

    def check(where: str, value: Any) -> Any:
        if not checked_table(where, value).keys() <= checks.keys():
            known_keys(value, checks, where)  # its message names the wrong attribute
        prefix = f"{where}." if where else ""
        values = {
            present_names.get(key, key): checks[key](prefix + key, entry)
            for key, entry in value.items()
        }
        required_keys(values, required, where)
        try:
            return cls(**values)
        except UserError as error:
            error.field = dotted(where, error.field)
            raise

    is_flat = all(_is_simple(hints[field.name]) for field in own_fields)
    return _sharing(check) if is_flat and _is_frozen(cls) else check


def _is_simple(hint: Any) -> bool:
    """Return True for the annotation of a text, number, flag or None, a tuple of these, or a
    choice.

    A choice can also be a frozen dataclass or None, as most parts of `Noise` are.
    """
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        return all(_is_simple(arg) or (is_dataclass(arg) and _is_frozen(arg)) for arg in args)
    if origin is tuple:
        return _is_simple(args[0])
    return hint in (float, int, bool, str, NoneType) or origin is Literal


def _is_frozen(cls: Any) -> bool:
    return bool(cls.__dataclass_params__.frozen)


def _sharing(check: Check) -> Check:
    """Return a check that gives equal data the same object."""
    shared: dict[str, Any] = {}

    def shared_check(where: str, value: Any) -> Any:
        data = repr(value)  # unlike the value itself, it distinguishes 1, 1.0 and True
        result = shared.get(data)
        if result is None:
            result = check(where, value)
            if len(data) <= LONGEST_SHARED:
                if len(shared) >= MOST_SHARED:
                    shared.clear()
                shared[data] = result
        return result

    return shared_check


def _stored_names(cls: Any) -> Mapping[str, str]:
    names: Mapping[str, str] = getattr(cls, "STORED_NAMES", {})
    return names


def _union_check(members: tuple[Any, ...]) -> Check:
    checks = [_check_for(member) for member in members if member is not NoneType]
    wanted = " or ".join(_type_name(member) for member in members)

    def check(field: str, value: Any) -> Any:
        if value is None and NoneType in members:
            return None
        for member_check in checks:
            try:
                return member_check(field, value)
            except UserError as error:
                within_value = error.field != field  # the message then names the wrong entry
                if within_value or error.kind != "wrong_type":
                    raise
        raise wrong_type(field, value, wanted)

    return check


def _type_name(hint: Any) -> str:
    if get_origin(hint) is Annotated:
        return _type_name(get_args(hint)[0])
    return "a list" if get_origin(hint) is tuple else _TYPE_NAMES.get(hint, "a table")


def _literal_check(choices: tuple[Any, ...]) -> Check:
    return lambda field, value: one_of(field, value, choices)


def _tuple_check(args: tuple[Any, ...]) -> Check:
    if args[1:] != (...,):
        raise TypeError("from_data can only check tuples of variable length: tuple[X, ...]")
    entry = _check_for(args[0])
    return lambda field, value: checked_list(field, value, entry)


def _dict_check(args: tuple[Any, ...]) -> Check:
    entry = _check_for(args[1])

    def check(field: str, value: Any) -> Any:
        return {
            checked_text(field, key): entry(dotted(field, key), member)
            for key, member in checked_table(field, value).items()
        }

    return check


def _annotated_check(args: tuple[Any, ...]) -> Check:
    checks = (_check_for(args[0]), *args[1:])

    def check(field: str, value: Any) -> Any:
        for part in checks:
            value = part(field, value)
        return value

    return check


_GENERIC: dict[Any, Callable[[tuple[Any, ...]], Check]] = {
    Union: _union_check,
    UnionType: _union_check,
    Literal: _literal_check,
    tuple: _tuple_check,
    dict: _dict_check,
    Annotated: _annotated_check,
}
