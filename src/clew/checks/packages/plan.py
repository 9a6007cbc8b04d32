"""What a rule set asks of one lot, in numbers: the plan that a sample is judged by.

Every rule set of this room boils down to the same few figures, for mass or for length. The worked
sheet with its words is `worksheet`; chance and target (`clew.checks.target`) need the figures only.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, get_args

from clew.languages import say

RuleKey = Literal[
    "us-category-a", "us-thread-states", "oiml-r87", "eu-average", "uk-2006", "de-2020"
]
RULE_KEYS: tuple[RuleKey, ...] = get_args(RuleKey)
"""Every rule set, in the order in which commands and pages name them."""
Quantity = Literal["mass", "length"]
_QUANTITIES = {"mass": say("mass"), "length": say("length")}


def quantity_word(quantity: str) -> str:
    """Say a quantity, mass or length, in the reader's language."""
    return _QUANTITIES[quantity]


@dataclass(frozen=True, slots=True)
class Stage:
    """One drawing of balls for the individual requirement.

    Attributes
    ----------
    drawn : int
        Balls drawn so far, this stage included.
    accept : int
        The lot's individual requirement is met at so many short balls or fewer.
    reject : int
        It is failed at so many or more; between the two the next stage is drawn.
    """

    drawn: int
    accept: int
    reject: int


@dataclass(frozen=True, slots=True)
class Plan:
    """What one rule set asks of one quantity of one lot, in the quantity's unit (g or m).

    A ball is short when its content lies below ``declared - deficiency``, and far short below
    ``declared - far_deficiency``. The average passes when ``mean >= floor - factor * sd``, where sd
    is the sample's own standard deviation (divisor n - 1).

    Attributes
    ----------
    rule : str
        Key of the rule set.
    quantity : str
        "mass" or "length".
    declared : float
        Declared content [g or m].
    floor : float
        What the mean is held against [g or m]: the declaration, or less where the rule lets the
        average fall short (the thread laws' 3 %) or an allowance for moisture is given.
    factor : float
        Sample correction factor [-]; 0 where the mean itself must reach the floor.
    average_n : int
        Balls the mean is taken over; 0 where nothing is asked of the mean.
    stages : tuple of Stage
        One stage, or two of a double plan; empty where there is no individual requirement.
    deficiency : float
        Shortage beyond which a ball counts as short [g or m]; inf where none does.
    far_deficiency : float
        Shortage beyond which a single ball fails the lot [g or m]; inf where none does.
    whole_lot : bool
        Every ball of the lot is examined.
    marks : tuple of str
        Marks of the tables used: READ, MEMORY ..., with what each rests on.
    confirmed : bool
        False where a figure rests on a table not checked against its source: a verdict by this
        plan is then "table unconfirmed", never a bare pass.
    notes : tuple of str
        What a reader of the answer must know: what the rule set asks beside these figures.
    allowance : float
        Moisture allowance already taken off in `floor`, `deficiency` and `far_deficiency` [g or m].
    individual_open : bool
        Single balls are limited by a table that is off: they are not judged, so nothing passes.
    """

    rule: RuleKey
    quantity: Quantity
    declared: float
    floor: float
    factor: float
    average_n: int
    stages: tuple[Stage, ...]
    deficiency: float
    far_deficiency: float
    whole_lot: bool
    marks: tuple[str, ...]
    confirmed: bool
    notes: tuple[str, ...] = ()
    allowance: float = 0.0
    individual_open: bool = False

    @property
    def n_most(self) -> int:
        """Balls that finish the plan whatever its first stage says."""
        last = self.stages[-1].drawn if self.stages else 0
        return max(self.average_n, last)

    @property
    def n_required(self) -> int:
        """Balls an inspector must have at hand to finish the plan's first stage."""
        first = self.stages[0].drawn if self.stages else 0
        return max(self.average_n, first)
