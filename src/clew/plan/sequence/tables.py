"""A problem's tables as the compiled kernels take them."""

from __future__ import annotations

import numpy as np

from clew.plan.sequence.problem import SequenceProblem, Wholes

Tables = tuple[Wholes, Wholes, Wholes, Wholes, Wholes, Wholes, Wholes, Wholes, Wholes]


def tables_of(problem: SequenceProblem) -> Tables:
    """Give the tables in one piece each.

    Parameters
    ----------
    problem : SequenceProblem
        A problem without frozen runs.

    Returns
    -------
    tuple of arrays of int
        ``run_min``, ``run_cost``, ``change_min``, ``change_cost``, ``ready_min``, ``due_min``,
        ``late_cost_per_min``, ``free_min``, ``wait_cost_per_min``.

    Notes
    -----
    Source: DERIVED; a kernel is compiled once for arrays in one piece.
    """
    return (
        np.ascontiguousarray(problem.run_min, dtype=np.int64),
        np.ascontiguousarray(problem.run_cost, dtype=np.int64),
        np.ascontiguousarray(problem.change_min, dtype=np.int64),
        np.ascontiguousarray(problem.change_cost, dtype=np.int64),
        np.ascontiguousarray(problem.ready_min, dtype=np.int64),
        np.ascontiguousarray(problem.due_min, dtype=np.int64),
        np.ascontiguousarray(problem.late_cost_per_min, dtype=np.int64),
        np.ascontiguousarray(problem.free_min, dtype=np.int64),
        np.ascontiguousarray(problem.wait_cost_per_min, dtype=np.int64),
    )
