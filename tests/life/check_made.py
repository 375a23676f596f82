"""Record lists of an invented club, and what the record checks remark on them."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from riskmodel.life.check import Remark
from riskmodel.records.tables import LifeRecords
from tests.studies.check_power import club


def rng(seed: int = 1) -> np.random.Generator:
    return np.random.default_rng(seed)


def of_kind(found: Iterable[Remark], kind: str) -> list[Remark]:
    return [remark for remark in found if remark.kind == kind]


def only(found: Iterable[Remark], kind: str) -> Remark:
    (remark,) = of_kind(found, kind)
    return remark


def plain_club(n: int = 60, seed: int = 1) -> LifeRecords:
    return club(rng(seed), n, 2.5)
