"""Records come back from plain values as they were."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Literal

import numpy as np
import pytest
from swept_functions import Setting, Summary, summary

from clew.campaign.records import plain, record_from


@dataclass(frozen=True, slots=True)
class Mixed:
    rule: Literal["nearest", "patrol"]
    by_cause: dict[str, tuple[float, ...]]
    settings: list[Setting]
    number: int | float
    best: Setting | None
    pair: tuple[int, Setting]
    nothing: tuple[()] = ()


def back(record: object) -> object:
    return record_from(type(record), json.loads(json.dumps(plain(record))))


@pytest.mark.parametrize(
    "record",
    [
        summary(Setting(1.1, 2)),
        summary(Setting(0.3, 1)),
        Mixed("patrol", {"a": (0.1, 1e-300)}, [Setting(1.0, 1)], 3, None, (1, Setting(2.0, 2))),
        Mixed("nearest", {}, [], 3.0, Setting(0.1, 1), (-0, Setting(-0.0, 2))),
    ],
)
def test_a_record_comes_back_as_it_was(record: object) -> None:
    assert repr(back(record)) == repr(record)
    assert isinstance(back(record), type(record))


@pytest.mark.parametrize("value", [np.float64(1.5), np.arange(3), {1: 2.0}, {"a": {1.0}}, Summary])
def test_what_is_not_plain_is_refused(value: object) -> None:
    with pytest.raises(TypeError, match="plain"):
        plain(value)


@dataclass(frozen=True)
class Either:
    one: Setting | Summary


def test_a_union_of_records_cannot_be_read_back() -> None:
    with pytest.raises(TypeError, match="cannot tell"):
        back(Either(Setting(1.0, 1)))
