"""Tables laid end to end give what each gives alone."""

import numpy as np

from riskmodel.life.covariate_design import design
from riskmodel.life.covariate_table import Tables
from tests.life.covariates_made import LEAD, looked_at


def test_tables_together_give_what_each_gives_alone() -> None:
    coded = design(looked_at(), 0.1, LEAD)
    groups = [each for each in coded.groups if len(each.intervals) or len(each.looks)]
    assert len(groups) > 1
    shapes, row = np.array([1.0, 2.5, 4.0]), np.array([2, 0, 1, 2])
    mu = np.random.default_rng(1).uniform(-20, 8, (4, len(groups)))  # beyond the knots as well
    whole = Tables(groups, LEAD, shapes)
    alone = [Tables([each], LEAD, shapes) for each in groups]
    columns = [mu[:, [j]] for j in range(len(groups))]
    found = [table.at(row, column) for table, column in zip(alone, columns, strict=True)]
    np.testing.assert_allclose(whole.at(row, mu), np.sum(found, axis=0), rtol=1e-12)
    told = [table.slopes(row, column) for table, column in zip(alone, columns, strict=True)]
    for i, slope in enumerate(whole.slopes(row, mu)):
        np.testing.assert_allclose(slope, np.concatenate([each[i] for each in told], axis=1))
