"""The rows in which the present part's failures are held, against a sum over segments and cells."""

from __future__ import annotations

import numpy as np
import pytest

from riskmodel.decision.present_world import Segments


@pytest.mark.parametrize("breaks", [[5], [1, 2, 3, 4, 5], [2, 5], [0, 3, 3, 5]])
def test_each_segment_holds_its_own_cells_at_their_two_ends(breaks: list[int]) -> None:
    """Two breaks at one edge leave a segment without cells: a row of nothing."""
    rng = np.random.default_rng(1)
    early, late = rng.random((2, 5, 3))
    segments = Segments(np.array(breaks))
    share = segments.share(early, late)
    start = 0
    for first, end, stop in zip(segments.first, segments.end, breaks, strict=True):
        expected = np.zeros((6, 3))
        for cell in range(start, stop):
            expected[cell] += early[cell]
            expected[cell + 1] += late[cell]
        found = np.zeros((6, 3))
        found[segments.edge[first:end]] = share[first:end]
        np.testing.assert_allclose(found, expected)
        assert segments.edge[first:end].tolist() == list(range(start, stop + 1))
        start = stop
    assert segments.end[-1] == len(share) == 5 + len(breaks)
