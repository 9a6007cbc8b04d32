"""What a worker of a cluster does with one point: check that it is installed alike, and work."""

from __future__ import annotations

import functools
import pickle
from typing import Any, NamedTuple

from clew.campaign.cores import at_point
from clew.faults import BadInput, Fault

_PACKAGES = ("clew", "numpy", "numba", "scipy")


class Answer(NamedTuple):
    """What a worker gives back for one point.

    Attributes
    ----------
    result : object
        The result.
    faults : tuple of Fault
        What is wrong with the point's input or with the worker, if anything.
    """

    result: Any
    faults: tuple[Fault, ...] = ()


def work(swept: bytes, expected: tuple[tuple[str, str], ...], parcel: bytes) -> Answer:
    """Work one point out; this runs at a worker.

    Parameters
    ----------
    swept : bytes
        The function, pickled.
    expected : tuple of (str, str)
        Packages and the versions of them where the sweep was started.
    parcel : bytes
        Number of the point and the point, pickled.

    Returns
    -------
    Answer
        The result, or what is wrong with the point's input or with this worker.
    """
    here = versions()
    if here != expected:
        differs = [
            f"{name} {there or 'missing'}, not {ours or 'missing'}"
            for (name, ours), (_, there) in zip(expected, here, strict=True)
            if ours != there
        ]
        return Answer(
            None,
            (
                Fault(
                    "a worker is not installed like this machine",
                    "the same versions, or other results would come out",
                    key="cluster",
                    value="; ".join(differs),
                ),
            ),
        )
    try:
        function = pickle.loads(swept)
        index, point = pickle.loads(parcel)
    except (ImportError, AttributeError) as error:
        return Answer(
            None,
            (
                Fault(
                    "a worker cannot find what is swept",
                    "the same installation at the workers",
                    key="cluster",
                    value=str(error),
                ),
            ),
        )
    try:
        return Answer(at_point(function, point, index))
    except BadInput as bad:
        return Answer(None, bad.faults)


@functools.cache
def versions() -> tuple[tuple[str, str], ...]:
    """List the packages that results depend on, with their versions here; empty when missing."""
    from importlib.metadata import PackageNotFoundError, version

    found = []
    for name in _PACKAGES:
        try:
            found.append((name, version(name)))
        except PackageNotFoundError:
            found.append((name, ""))
    return tuple(found)
