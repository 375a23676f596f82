"""Covariate columns as numbers: which terms they make, and which records share a pattern.

A column of words makes a term of every level but one, its base: the commonest level with a
failure on record (the commonest where none has one), so that factors compare with something
known. A numeric column makes one term: its value less the records' mean, in steps of two
standard deviations, about from a typical low to a typical high (Gelman 2008, Statistics in
Medicine 27, 2865-2873). Column means and deviations count every part on record once.

Records of one pattern of covariates share a likelihood, so every kind of record enters here
just as it does without covariates.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from riskmodel.life.likelihood import Likelihood
from riskmodel.life.rows import BETWEEN, EXACT, Unknown
from riskmodel.records.errors import CannotAnswer, did_you_mean, one_of, plain, shown
from riskmodel.records.quantity import Quantity
from riskmodel.records.tables import LifeRecords

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Value = float | str

MOST_PATTERNS = 1000
"""Patterns of covariates kept apart (judgement); where numbers make more, they are rounded."""

ROUNDINGS = (200, 100, 50, 25, 12)
"""Evenly spaced values that a numeric column is rounded to, from the closest."""

MOST_STEPS = 5
"""How far outside of its records a number may lie, in steps of two deviations (judgement)."""

MOST_TERMS = 60
"""Terms that one model may have (judgement)."""


@dataclass(frozen=True, slots=True)
class Column:
    """One covariate column and how it is coded.

    `levels` are the words with a term of their own, `base` the word without; a numeric column
    has neither, but `centre` and `step` in its own unit, and the range `low` to `high` seen.
    """

    name: str
    base: str | None = None
    levels: tuple[str, ...] = ()
    centre: float = 0.0
    step: float = 1.0
    low: float = 0.0
    high: float = 0.0

    @property
    def numeric(self) -> bool:
        return self.base is None

    @property
    def terms(self) -> tuple[str | None, ...]:
        """A level for each term; None for the term of a number."""
        return (None,) if self.base is None else self.levels

    def coded(self, values: Sequence[Value]) -> Floats:
        """The terms of `values`, (values, terms)."""
        if self.base is None:
            numbers = np.array([float(value) for value in values])
            return ((numbers - self.centre) / self.step)[:, None]
        return np.array(
            [[float(str(value) == level) for level in self.levels] for value in values]
        ).reshape(len(values), len(self.levels))

    def fault(self, value: Value) -> str | None:
        """Why `value` cannot be one of this column, if so."""
        if self.base is None:
            if isinstance(value, str) or not math.isfinite(value):
                return f"the trait {self.name} is {shown(value)}; in the records it is a number"
            outside = max(self.low - value, value - self.high, 0.0)
            if outside > MOST_STEPS * self.step:
                return (
                    f"the trait {self.name} is {plain(value)}, too far from what is on record, "
                    f"{plain(self.low)} to {plain(self.high)}, to say anything of it"
                )
            return None
        if value == self.base or value in self.levels:
            return None
        words = sorted((self.base, *self.levels))
        hint = did_you_mean(value, words) if isinstance(value, str) else ""
        found = shown(value)
        return f"the trait {self.name} is {found}; in the records it is {one_of(words)}{hint}"


@dataclass(frozen=True, slots=True)
class Design:
    """The covariates of a set of records, coded.

    `patterns` (G, p) are the distinct rows of terms and `groups` their G likelihoods. Of each
    of n records `pattern_of` tells the pattern, `count` how many parts it is, `failed` how
    many of them failed by wear, and `weight` how many parts of the population it stands for
    (survivors weigh the reporting ratio). `constant` holds the columns on which all records
    agree, with that value. `notes` are sentences about what was rounded.
    """

    columns: tuple[Column, ...]
    constant: Mapping[str, Value]
    pooled: Likelihood
    groups: tuple[Likelihood, ...]
    patterns: Floats
    pattern_of: Ints
    count: Floats
    weight: Floats
    failed: Floats
    notes: tuple[str, ...]

    def blunted(self, times: float) -> Design:
        """The same with the log-likelihood of all and of each pattern multiplied."""
        groups = tuple(group.blunted(times) for group in self.groups)
        return replace(self, pooled=self.pooled.blunted(times), groups=groups)

    @property
    def terms(self) -> tuple[tuple[Column, str | None], ...]:
        """(column, level) of each of the p terms."""
        return tuple((column, level) for column in self.columns for level in column.terms)

    @property
    def mean(self) -> Floats:
        """The population's mean of each term, (p,)."""
        share = np.bincount(self.pattern_of, self.weight, minlength=len(self.groups))
        return np.asarray(share @ self.patterns / share.sum())

    def slices(self) -> tuple[slice, ...]:
        """Where the terms of each column lie among the p."""
        ends = np.cumsum([len(column.terms) for column in self.columns]).tolist()
        return tuple(
            slice(end - len(column.terms), end)
            for column, end in zip(self.columns, ends, strict=True)
        )


def design(
    records: LifeRecords,
    finding_error: float = 0.1,
    visible_lead: Quantity | None = None,
    reporting_ratio: float = 1.0,
    *,
    unknown_as: Unknown = "wear",
    patterns_wanted: int = MOST_PATTERNS,
) -> Design:
    """Code the covariates of `records` and divide the records by pattern.

    Numbers are rounded, by no more than 1/22 of their range, where they would make more than
    `patterns_wanted`.
    Raises CannotAnswer where the records themselves cannot be used (see `Likelihood`), where
    a number is not finite, or where there are more terms or patterns than can be dealt with.
    """

    pooled = Likelihood(
        records, finding_error, visible_lead, reporting_ratio, unknown_as=unknown_as
    )
    rows = pooled.rows
    kept = np.flatnonzero(np.asarray(records.count) > 0)
    if len(kept) == 0:
        raise CannotAnswer("there are no records to learn from")
    count = np.asarray(records.count, dtype=float)[kept]
    failed = rows.where(EXACT) | rows.where(BETWEEN)
    covariates = {
        name: tuple(values[i] for i in kept.tolist()) for name, values in records.covariates.items()
    }
    columns: list[Column] = []
    constant: dict[str, Value] = {}
    for name, values in covariates.items():
        if len(set(values)) == 1:
            constant[name] = values[0]
        elif any(isinstance(value, str) for value in values):
            columns.append(_of_words(name, values, count, failed))
        else:
            columns.append(_of_numbers(name, values, count))
    terms = sum(len(column.terms) for column in columns)
    if terms > MOST_TERMS:
        raise CannotAnswer(
            f"the covariate columns make {terms} terms, more than the {MOST_TERMS} that one fit "
            "can hold: leave columns out, or give several levels one word"
        )
    patterns, pattern_of, notes = _patterns(covariates, columns, len(count), patterns_wanted)
    return Design(
        columns=tuple(columns),
        constant=constant,
        pooled=pooled,
        groups=tuple(
            Likelihood(rows.keep(pattern_of == g), finding_error, visible_lead)
            for g in range(len(patterns))
        ),
        patterns=patterns,
        pattern_of=pattern_of,
        count=count,
        weight=rows.weight,
        failed=np.where(failed, count, 0.0),
        notes=notes,
    )


def _of_words(
    name: str, values: Sequence[Value], count: Floats, failed: NDArray[np.bool_]
) -> Column:
    words = np.array([str(value) for value in values])
    parts = {level: float(count[words == level].sum()) for level in sorted(set(words.tolist()))}
    ranked = sorted(parts, key=lambda level: -parts[level])
    base = next((level for level in ranked if failed[words == level].any()), ranked[0])
    return Column(name, base, tuple(level for level in ranked if level != base))


def _of_numbers(name: str, values: Sequence[Value], count: Floats) -> Column:
    numbers = np.array(values, dtype=float)
    if not np.isfinite(numbers).all():
        raise CannotAnswer(f"the column {name} holds a number that is not finite")
    # about its middle, so that no number is too large or too alike to square
    low, high = float(numbers.min()), float(numbers.max())
    unit = high / 2 - low / 2
    relative = (numbers / 2 - low / 2) / unit - 0.5
    mean = np.average(relative, weights=count)
    deviation = math.sqrt(np.average((relative - mean) ** 2, weights=count))
    return Column(
        name,
        centre=low + (float(mean) + 0.5) * 2 * unit,
        step=4 * deviation * unit,
        low=low,
        high=high,
    )


def _patterns(
    covariates: Mapping[str, Sequence[Value]], columns: Sequence[Column], n: int, wanted: int
) -> tuple[Floats, Ints, tuple[str, ...]]:
    """(distinct patterns, the pattern of each record, what was rounded)."""
    numeric = [column for column in columns if column.numeric]
    rounded: dict[str, float] = {}
    for points in (0, *ROUNDINGS):
        parts = [np.zeros((n, 0))]
        for column in columns:
            values = covariates[column.name]
            if points and column.numeric and len(set(values)) > points:
                spacing = (column.high - column.low) / (points - 1)
                rounded[column.name] = spacing
                steps = np.round((np.array(values, dtype=float) - column.low) / spacing)
                values = tuple((column.low + spacing * steps).tolist())
            parts.append(column.coded(values))
        patterns, pattern_of = np.unique(np.hstack(parts), axis=0, return_inverse=True)
        if len(patterns) <= wanted or not numeric:
            break
    if len(patterns) > MOST_PATTERNS:
        raise CannotAnswer(
            f"the covariate columns set {len(patterns)} kinds of record apart, more than the "
            f"{MOST_PATTERNS} that one fit can hold: leave columns out, or round the numbers"
        )
    notes = tuple(
        f"The numbers of {name} were rounded to steps of {plain(float(f'{spacing:.3g}'))} for the "
        "fit, because there are so many different ones."
        for name, spacing in rounded.items()
    )
    return patterns, pattern_of.reshape(-1), notes
