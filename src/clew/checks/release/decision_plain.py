"""A decision as plain values with stable keys."""

from __future__ import annotations

from typing import Any

from clew.checks.release.decision import Decision
from clew.checks.release.finding import Mend


def plain_decision(decision: Decision) -> dict[str, Any]:
    """Give a decision as plain values.

    Parameters
    ----------
    decision : Decision
        The decision.

    Returns
    -------
    dict
        ``decision`` is "release", "hold" or "rework"; costs are in the mill's currency.
    """
    return {
        "decision": decision.word,
        "sentence": decision.sentence,
        "reasons": list(decision.reasons),
        "mends": [_plain_mend(mend) for mend in decision.mends],
        "accepted_by": decision.accepted_by or None,
        "findings": [
            {
                "subject": one.subject,
                "title": one.title,
                "pass": one.passed,
                "confirmed": one.confirmed,
                "words": list(one.words),
                "mends": [_plain_mend(mend) for mend in one.mends],
            }
            for one in decision.findings
        ],
    }


def _plain_mend(mend: Mend) -> dict[str, Any]:
    return {"words": mend.words, "balls": mend.balls, "cost": mend.cost, "basis": mend.basis}
