"""Payloads as JSON and back, each checked against its dataclass, field by field.

What is read equals what was written. A field that a payload lacks takes its default (it was
written before there was such a field); one that the dataclass does not know is refused.
"""

from __future__ import annotations

import dataclasses
import json
import math
import types
import typing
from collections.abc import Mapping
from functools import lru_cache
from typing import Any, Literal, get_args, get_origin

from riskmodel.records.errors import InputError, Problem, did_you_mean, one_of, shown
from riskmodel.records.log.entries import KINDS, Payload


def to_json(payload: Payload) -> str:
    """The JSON text of a payload, on one line.

    Raises InputError for a value that its field may not hold (a text for a number, say), or
    that would not be read back the same.
    """
    try:
        text = _dumped(payload)
        text.encode("utf-8")
    except (TypeError, ValueError) as fault:
        raise InputError([Problem(payload.title, "", str(fault), "numbers and texts")]) from None
    again = from_json(payload.kind, text)
    if again != payload:
        found = "values that would not be read back the same"
        raise InputError([Problem(payload.title, "", found, "plain numbers and texts")])
    return _dumped(again)


def _dumped(payload: Payload) -> str:
    return json.dumps(_raw(payload), ensure_ascii=False, separators=(",", ":"), allow_nan=False)


def from_json(kind: str, text: str) -> Payload:
    """The payload of a kind in a JSON text. Raises InputError."""
    known = KINDS.get(kind)
    if known is None:
        found = f"the unknown kind {shown(kind)}"
        raise InputError([Problem("entry", "kind", found, f"a kind of entry{_hint(kind)}")])
    try:
        raw = json.loads(text, parse_constant=_no_constant)
    except (ValueError, RecursionError) as fault:
        raise InputError([Problem(known.title, "", f"no JSON ({fault})", "JSON")]) from None
    payload = _typed(known, raw, known.title, "")
    assert isinstance(payload, Payload)
    return payload


def _hint(kind: str) -> str:
    return did_you_mean(kind, KINDS) or " of this version"


def _no_constant(name: str) -> float:
    raise ValueError(f"{name} is no finite number")


def _raw(value: object) -> object:
    if dataclasses.is_dataclass(value):
        return {f.name: _raw(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise TypeError("a name that is no text")
        return {key: _raw(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_raw(item) for item in value]
    return value


@lru_cache(maxsize=64)
def _hints(kind: type) -> dict[str, Any]:
    hints = typing.get_type_hints(kind)
    return {f.name: hints[f.name] for f in dataclasses.fields(kind)}


def _typed(hint: Any, raw: Any, title: str, where: str) -> Any:
    """The raw value as its hint wants it. Raises InputError."""

    def refuse(expected: str) -> InputError:
        return InputError([Problem(title, where, shown(raw), expected)])

    if hint is Any:
        return raw
    if dataclasses.is_dataclass(hint):
        return _built(typing.cast(type, hint), raw, title, where)
    origin, args = get_origin(hint), get_args(hint)
    if origin in (typing.Union, types.UnionType):
        if raw is None and type(None) in args:
            return None
        return _typed(next(a for a in args if a is not type(None)), raw, title, where)
    if origin is Literal:
        if raw not in args:
            raise refuse(one_of(args))
        return raw
    if origin is tuple:
        if not isinstance(raw, list):
            raise refuse("a list")
        return tuple(_typed(args[0], item, title, where) for item in raw)
    if origin is Mapping:  # get_origin of collections.abc.Mapping[...] is the class itself
        if not isinstance(raw, dict):
            raise refuse("a table")
        return {k: _typed(args[1], v, title, f"{where}.{k}".lstrip(".")) for k, v in raw.items()}
    if hint is float:
        if isinstance(raw, bool) or not isinstance(raw, int | float):
            raise refuse("a number")
        try:
            value = float(raw)
        except OverflowError:
            value = math.inf
        if not math.isfinite(value):
            raise refuse("a finite number")
        return value
    if type(raw) is not hint:
        raise refuse({str: "a text", bool: "true or false", int: "a whole number"}[hint])
    return raw


def _built(kind: type, raw: Any, title: str, where: str) -> Any:
    if not isinstance(raw, dict):
        raise InputError([Problem(title, where, shown(raw), "a table")])
    hints, problems, values = _hints(kind), [], {}
    for name in raw:
        if name not in hints:
            found = f"the unknown field {shown(name)}"
            problems.append(Problem(title, where, found, one_of(hints)))
    for f in dataclasses.fields(kind):
        here = f"{where}.{f.name}".lstrip(".")
        if f.name in raw:
            try:
                values[f.name] = _typed(hints[f.name], raw[f.name], title, here)
            except InputError as fault:
                problems += fault.problems
        elif f.default is dataclasses.MISSING and f.default_factory is dataclasses.MISSING:
            problems.append(Problem(title, here, "nothing", "a value, as it is required"))
    if problems:
        raise InputError(problems)
    return kind(**values)
