"""Orders: which order runs next on which line, whether the cones suffice, and what it costs."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from threading import Lock
from urllib.parse import urlencode
from zoneinfo import ZoneInfo

from clew.faults import BadInput, Fault
from clew.languages import joined, say
from clew.mill.model import Mill
from clew.plan.costing.ball_cost import BallCost, ball_cost
from clew.plan.costing.quote import Quote, quote_of
from clew.plan.orders.answer import Materials
from clew.plan.orders.asked import OrderAsked, orders_of_mill
from clew.plan.orders.materials import materials_for
from clew.plan.orders.reading import orders_from_csv
from clew.plan.sequence.change import LineNow
from clew.plan.sequence.plan import SequencePlan, sequence_plan
from clew.plan.sequence.plan_file import present_from_csv
from clew.plan.sequence.wish import Wish, price_of_wish
from clew.web.asked.whole import MOST_SEED, whole_typed
from clew.web.band.said import fault_words
from clew.web.few_at_once import FewAtOnce
from clew.web.mill_on_disk import MillOnDisk, Reading
from clew.web.orders.files import OrderFiles, PlanFiles

OF_MILL = "mill"
"""What the address says for the orders that stand in the mill file."""
PLAN_KEYS = ("orders", "plan", "now", "within", "seed")
WISH_KEYS = (*PLAN_KEYS, "run", "line", "place")
_LABELS = {
    "orders": say("Orders"),
    "now": say("From when"),
    "plan": say("Begun from the plan"),
    "within": say("Seconds to search"),
    "seed": say("Seed"),
}
"""What the form calls its inputs, where a fault says what is wrong with one."""
ORDERS_KEYS = (*WISH_KEYS, "date", "shift")
WITHIN_S, MOST_WITHIN_S = 2, 30
MOST_RUNS, MOST_ORDERS = 200, 400
"""Runs and orders of a plan that a page makes; a longer one is the command's."""
_KEPT = 8
_AT_ONCE = 2
"""One plan is made while another is shown."""
_WARM_RUNS = 6


@dataclass(frozen=True, slots=True)
class Planned:
    """What was planned from a list of orders.

    Attributes
    ----------
    materials : Materials
        The orders against the cones in stock.
    plan : SequencePlan
        Which run next, on which line, when.
    quote : Quote
        What the runs cost together, each by its own line, lot, size and change.
    usual : tuple of BallCost
        The ball of each run with the change that is usual before it: what Case says of it.
    """

    materials: Materials
    plan: SequencePlan
    quote: Quote
    usual: tuple[BallCost, ...]


@dataclass(frozen=True, slots=True)
class OrdersPage:
    """What the page was asked, with its answer.

    Attributes
    ----------
    files, plans : tuple of str
        Lists of orders and plans beside the mill file.
    chosen, plan_file : str
        The list that is planned, and the plan begun from; empty for none.
    now, within, seed : str
        As typed, or what stands for them.
    faults : tuple of Fault
        What is wrong.
    orders : tuple of OrderAsked
        What was asked for.
    planned : Planned or None
        The answer; none while something is wrong.
    wish : Wish or None
        A wish with its price.
    wish_asked : tuple of (str, str)
        Run, line and place of the wish as typed; empty where none was.
    asked : tuple of (str, str)
        The plan's own questions as the address says them.
    """

    files: tuple[str, ...]
    plans: tuple[str, ...]
    chosen: str
    plan_file: str
    now: str
    within: str
    seed: str
    faults: tuple[Fault, ...]
    orders: tuple[OrderAsked, ...]
    planned: Planned | None
    wish: Wish | None
    wish_asked: tuple[tuple[str, str], ...]
    asked: tuple[tuple[str, str], ...]

    def query(self, **more: str) -> str:
        """Write the page's questions out for a link."""
        return urlencode([*self.asked, *more.items()])

    def fault_of(self, key: str) -> str:
        """What is wrong with an input; empty where nothing is."""
        said = (
            say("{what}; expected {expected}", what=one.what, expected=one.expected)
            for one in self.faults
            if one.key == key
        )
        return next(said, "")

    @staticmethod
    def fault_words(one: Fault) -> str:
        """Say all of a fault: where, what, what was found, what was expected."""
        label = None if one.file else _LABELS.get(one.key)
        if label is None:
            return fault_words(one)
        return joined(": ", (label, fault_words(replace(one, key=""))))

    def wished(self, key: str) -> str:
        """What was typed of a wish, so that it stands there again; empty where nothing was."""
        return dict(self.wish_asked).get(key, "")


class Planner:
    """Plans that were made, kept while nothing they rest on changes.

    Parameters
    ----------
    orders, plans : OrderFiles, PlanFiles
        Lists of orders, and plans, beside the mill file.
    """

    def __init__(self, orders: OrderFiles, plans: PlanFiles) -> None:
        self.orders, self.plans = orders, plans
        self.few = FewAtOnce(_AT_ONCE)
        self._lock = Lock()
        self._kept: OrderedDict[tuple[object, ...], Planned] = OrderedDict()

    def planned(
        self,
        reading: Reading,
        orders: tuple[OrderAsked, ...],
        lines_now: Mapping[str, LineNow],
        now: datetime,
        present: str,
        within_s: float,
        seed: int,
    ) -> Planned:
        """Plan a list of orders, or give the plan that was made of the same; raises `BadInput`."""
        key = (
            reading.number,
            orders,
            tuple(sorted(lines_now.items())),
            now,
            present,
            within_s,
            seed,
        )
        with self._lock:
            found = self._kept.get(key)
            if found is None:
                found = _planned(reading.mill, orders, lines_now, now, present, within_s, seed)
                self._kept[key] = found
                while len(self._kept) > _KEPT:
                    self._kept.popitem(last=False)
            return found


def _planned(
    mill: Mill,
    orders: tuple[OrderAsked, ...],
    lines_now: Mapping[str, LineNow],
    now: datetime,
    present: str,
    within_s: float,
    seed: int,
) -> Planned:
    if len(orders) > MOST_ORDERS:
        expected = say("at most {most} orders; clew plan sequence takes more", most=MOST_ORDERS)
        raise BadInput(Fault(say("too long a list for a page"), expected, key="orders"))
    materials = materials_for(mill, orders, seed=seed)
    if len(materials.runs) > MOST_RUNS:
        expected = say("at most {most} runs; clew plan sequence takes more", most=MOST_RUNS)
        raise BadInput(Fault(say("too long a list for a page"), expected, key="orders"))
    runs_now = present_from_csv(present, mill, file=say("the plan")) if present else None
    plan = sequence_plan(
        mill, materials.runs, now=now, lines_now=lines_now, present=runs_now,
        within_s=within_s, seed=seed,
    )  # fmt: skip
    usual = tuple(
        ball_cost(
            mill, one.run.ball_name, one.run.lot_name, one.line_name, run_balls=one.run.balls,
            seed=seed,
        )
        for one in plan.timed
    )  # fmt: skip
    return Planned(materials, plan, quote_of(mill, plan.timed, seed=seed), usual)


def warm_orders(mill: MillOnDisk) -> None:
    """Get the search ready: compiling it for the first time would take all of a plan's seconds.

    Parameters
    ----------
    mill : MillOnDisk
        The mill; one that cannot be read is left to the pages to say so.
    """
    try:
        own = mill.read().mill
        runs = materials_for(own, orders_of_mill(own)).runs[:_WARM_RUNS]
        if runs:
            now = datetime.now(ZoneInfo(own.mill.time_zone))
            sequence_plan(own, runs, now=now, lines_now={}, within_s=1.0)
    except BadInput:
        return


def open_orders(
    reading: Reading,
    asked: Mapping[str, str],
    planner: Planner,
    lines_now: Mapping[str, LineNow],
    clock: datetime | None = None,
) -> OrdersPage:
    """Answer the page.

    Parameters
    ----------
    reading : Reading
        The mill as it stands on disk.
    asked : mapping of str to str
        What the address says.
    planner : Planner
        Files, and plans made before.
    lines_now : mapping of str to LineNow
        What stands on each line.
    clock : datetime, optional
        Now; this machine's clock where left out.

    Returns
    -------
    OrdersPage
        The page's content; what is wrong with an input is a fault on the page.
    """
    mill = reading.mill
    zone = ZoneInfo(mill.mill.time_zone)
    here = _rounded(datetime.now(zone) if clock is None else clock.astimezone(zone))
    files, plans = planner.orders.names(), planner.plans.names()
    chosen = asked.get("orders", "").strip() or (OF_MILL if mill.order else (*files, "")[0])
    plan_file = asked.get("plan", "").strip()
    faults: list[Fault] = []
    now = _moment(asked.get("now", "").strip(), here, faults)
    within, seed = _whole(asked, "within", WITHIN_S, faults), _whole(asked, "seed", 1, faults)
    if not 1 <= within <= MOST_WITHIN_S:
        what = next((one.what for one in faults if one.key == "within"), say("out of reach"))
        faults = [one for one in faults if one.key != "within"]
        expected = say("1 to {most} s", most=MOST_WITHIN_S)
        faults.append(Fault(what, expected, key="within", value=asked.get("within", "").strip()))
    orders: tuple[OrderAsked, ...] = ()
    planned = wish = None
    try:
        orders = _orders(mill, chosen, planner)
        present = planner.plans.read(plan_file) if plan_file else ""
        if not faults and orders:
            planned = planner.planned(reading, orders, lines_now, now, present, within, seed)
    except BadInput as bad:
        faults += bad.faults
    wish_asked = tuple((key, asked.get(key, "").strip()) for key in WISH_KEYS[len(PLAN_KEYS) :])
    if planned is not None and asked.get("run", "").strip():
        try:
            wish = _wish(planned.plan, mill, asked)
        except BadInput as bad:
            faults += bad.faults
    own = {key: asked.get(key, "").strip() for key in ("now", "within", "seed")}
    own |= {"orders": chosen, "plan": plan_file}
    return OrdersPage(
        files=files, plans=plans, chosen=chosen, plan_file=plan_file,
        now=own["now"] or f"{now:%Y-%m-%d %H:%M}", within=own["within"] or str(WITHIN_S),
        seed=own["seed"] or "1", faults=tuple(faults), orders=orders, planned=planned, wish=wish,
        wish_asked=wish_asked,
        asked=tuple((key, text) for key, text in own.items() if text),
    )  # fmt: skip


def _orders(mill: Mill, chosen: str, planner: Planner) -> tuple[OrderAsked, ...]:
    if chosen == OF_MILL:
        return orders_of_mill(mill)
    return orders_from_csv(planner.orders.read(chosen), mill, file=chosen) if chosen else ()


def _rounded(moment: datetime) -> datetime:
    """The quarter of an hour that has begun: a plan is good for so long."""
    return moment.replace(minute=moment.minute - moment.minute % 15, second=0, microsecond=0)


def _moment(text: str, here: datetime, faults: list[Fault]) -> datetime:
    if not text:
        return here
    try:
        found = datetime.fromisoformat(text.replace(" ", "T", 1))
    except ValueError:
        found = None
    if found is None or not 2000 <= found.year < 2100:
        faults.append(Fault(say("no moment"), "2026-11-30 06:00", key="now", value=repr(text)[:80]))
        return here
    return found.replace(tzinfo=here.tzinfo) if found.tzinfo is None else found


def _whole(asked: Mapping[str, str], key: str, usual: int, faults: list[Fault]) -> int:
    text = asked.get(key, "").strip()
    if not text:
        return usual
    number, fault = whole_typed(key, text, MOST_SEED)
    if fault is not None:
        faults.append(fault)
    return number


def _wish(plan: SequencePlan, mill: Mill, asked: Mapping[str, str]) -> Wish:
    text = asked.get("place", "").strip() or "1"
    place, fault = whole_typed("place", text, 10_000)
    if fault is not None or place < 1:
        raise BadInput(
            fault or Fault(say("no such place"), say("1 or more"), key="place", value=text)
        )
    line = asked.get("line", "").strip() or mill.line[0].name
    return price_of_wish(plan, mill, asked["run"].strip(), line, place)
