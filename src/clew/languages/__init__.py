"""Saying things so that every reader hears them in their own language.

A room says a thing with `say`: the result is plain English text that remembers what it was made of.
Where it meets a reader, on a page or a paper, `spoken` says it again in the reader's language, with
that language's decimal mark, dates and plurals. Nothing between the two has to know.
"""

from clew.languages.dates import (
    day,
    moment,
    weekday,
    weekday_clock,
    weekday_moment,
    weekday_name,
    whole_weekday,
)
from clew.languages.marks import figure
from clew.languages.said import first_lower, first_upper, joined, say, say_many, told_again
from clew.languages.told import Told
from clew.languages.tongues import DEFAULT, LANGUAGES, Tongue, speaking, spoken, tongue, tongue_of

__all__ = [
    "DEFAULT",
    "LANGUAGES",
    "Told",
    "Tongue",
    "day",
    "figure",
    "first_lower",
    "first_upper",
    "joined",
    "moment",
    "say",
    "say_many",
    "speaking",
    "spoken",
    "told_again",
    "tongue",
    "tongue_of",
    "weekday",
    "weekday_clock",
    "weekday_moment",
    "weekday_name",
    "whole_weekday",
]
