"""One thread for linear algebra: the products here are many and small, and threads that wait for
each other make them several times slower, the more so on a busy machine."""

from __future__ import annotations

import os
import sys
from functools import cache


@cache
def one_thread() -> None:
    """Keep this process's linear algebra to one thread: for programs, not for a library to call."""
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # read by what is loaded from now on
    if "numpy" in sys.modules:
        from threadpoolctl import threadpool_limits

        threadpool_limits(limits=1, user_api="blas")
