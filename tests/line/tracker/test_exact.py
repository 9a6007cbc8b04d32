"""Inputs exact: the ball that is named is the ball the tie lands in, always."""

from __future__ import annotations

import random

import pytest
from metre_line import Habits, MetreLine, Truth, some_terms
