"""`clew line interference`: machines that stand because the hand is at another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from clew.cli.options import Quantity, as_json, options_named
from clew.cli.output import print_json, print_rows, print_table
from clew.faults import BadInput, Fault
from clew.quantities import TIME, number, show

if TYPE_CHECKING:
    from clew.line.interference.crew_cost import Crew
    from clew.line.interference.patrol import Patrol
    from clew.line.interference.stopped import Interference
    from clew.line.interference.synchronous import Assignment, Steps
    from clew.line.interference.which_model import Applies

LAWS = ["exponential", "constant", "gamma", "lognormal", "patrol", "synchronous"]
_SPREAD_LAWS = ("gamma", "lognormal")
_WALK_LAWS = ("patrol", "synchronous")
_KEYS = {
    "run_s": "--run",
    "fill_s": "--run",
    "service_s": "--service",
    "walk_s": "--walk",
    "walk_round_s": "--walk",
    "service_cv": "--service-cv",
    "cost_hand_per_hour": "--cost-hand",
    "cost_waiting_per_hour": "--cost-stopped",
    "cost_machine_per_hour": "--cost-stopped",
    "cost_served_per_hour": "--cost-stopped",
}


@click.command()
@click.option("--machines", type=click.IntRange(1, 1000), required=True, help="In the row.")
@click.option(
    "--hands", type=click.IntRange(1, 1000), default=1, show_default=True, help="Who serve it."
)
@click.option("--run", "run_s", type=Quantity(TIME), required=True, help="From restart to stop.")
@click.option("--service", "service_s", type=Quantity(TIME), required=True, help="Hand at work.")
@click.option("--law", type=click.Choice(LAWS), help="The model; chosen by --stops if not given.")
@click.option(
    "--stops",
    type=click.Choice(["breaks", "doffs", "both"]),
    help="What stops a machine: breaks at random, or doffs after a fixed fill. [default: breaks]",
)
@click.option(
    "--service-cv",
    type=click.FloatRange(0.0, 3.0),
    help="Spread of service over its mean; 0 constant, 1 as uneven as chance. [default: 1]",
)
@click.option(
    "--fill-cv",
    type=click.FloatRange(0.0, 3.0),
    help="Spread of the fill time, with --stops doffs.",
)
@click.option("--walk", "walk_s", type=Quantity(TIME), help="From one machine to the next.")
@click.option("--cost-stopped", type=float, help="Money a machine-hour that stands.")
@click.option("--cost-hand", type=float, help="Money a hand-hour.")
@as_json
def interference(
    machines: int,
    hands: int,
    run_s: float,
    service_s: float,
    law: str | None,
    stops: str | None,
    service_cv: float | None,
    fill_cv: float | None,
    walk_s: float | None,
    cost_stopped: float | None,
    cost_hand: float | None,
    as_json: bool,
) -> None:
    """Machines that stand because the hand is at another one.

    Breaks come at random and meet by chance; fills of a fixed length fall into step. Say what stops
    the machines (--stops) and the model is chosen, with its reason, or name it (--law).
    """
    from clew.line.interference.plain import interference_plain
    from clew.line.interference.which_model import which_applies

    with options_named(_KEYS):
        applies = None
        if law is None or stops is not None:
            applies = which_applies(
                stops or "breaks",  # type: ignore[arg-type]
                hands=hands,
                service_cv=1.0 if service_cv is None else service_cv,
                walk_s=walk_s or 0.0,
                fill_cv=fill_cv or 0.0,
            )
        chosen = law or (applies.law if applies else "")
        if fill_cv is not None and stops != "doffs":
            raise BadInput(Fault("only fills have it", "--stops doffs beside it", key="--fill-cv"))
        _refuse(chosen, law is not None, hands, service_cv, walk_s, cost_stopped, cost_hand)
        found, more = _worked_out(
            chosen, machines, hands, run_s, service_s, service_cv or 0.0, walk_s or 0.0
        )
        table, best = _costs(found, walk_s or 0.0, cost_stopped, cost_hand)
    if as_json:
        asked = {"service_cv": service_cv, "walk_s": walk_s}
        print_json(interference_plain(found, more, applies, table, best) | asked)
    else:
        _tell(found, more, applies, table, best)


def _refuse(
    law: str,
    named: bool,
    hands: int,
    service_cv: float | None,
    walk_s: float | None,
    cost_stopped: float | None,
    cost_hand: float | None,
) -> None:
    """Refuse what the chosen model cannot answer, and say what can."""
    faults = []
    if hands > 1 and law != "exponential":
        faults.append(
            Fault(
                f"law {law} has a closed form for one hand only",
                "--hands 1 for a group of machines of its own, or --law exponential, which is the "
                "cautious side for steadier service",
                key="--hands",
                value=str(hands),
            )
        )
    if named and law in _SPREAD_LAWS and service_cv is None:
        faults.append(Fault("missing", f"the spread of service for law {law}", key="--service-cv"))
    if named and law not in _SPREAD_LAWS and service_cv is not None:
        faults.append(
            Fault(f"law {law} has no spread to set", "--law gamma or lognormal", key="--service-cv")
        )
    if law == "patrol" and walk_s is None:
        faults.append(Fault("missing", "the walk from one machine to the next", key="--walk"))
    if law not in _WALK_LAWS and walk_s:
        faults.append(
            Fault(
                f"law {law} knows no walk",
                "--law patrol or synchronous, or the usual walk added to --service",
                key="--walk",
                value=show(walk_s, TIME),
            )
        )
    if (cost_stopped is None) != (cost_hand is None):
        faults.append(Fault("one without the other", "both", key="--cost-stopped, --cost-hand"))
    elif cost_hand is not None and law not in ("exponential", "synchronous"):
        faults.append(
            Fault(
                f"law {law} is for one hand, so there are no crews to compare",
                "--law exponential or synchronous",
                key="--cost-hand",
            )
        )
    if faults:
        raise BadInput(faults)


def _worked_out(
    law: str,
    machines: int,
    hands: int,
    run_s: float,
    service_s: float,
    service_cv: float,
    walk_s: float,
) -> tuple[Interference, Patrol | Steps | None]:
    from clew.line.interference.finite_source import exponential_service
    from clew.line.interference.one_hand import one_hand
    from clew.line.interference.patrol import patrol
    from clew.line.interference.synchronous import synchronous

    if law == "exponential":
        return exponential_service(machines, hands, run_s=run_s, service_s=service_s), None
    if law == "patrol":
        rounds = patrol(machines, run_s=run_s, service_s=service_s, walk_round_s=machines * walk_s)
        return rounds.interference, rounds
    if law == "synchronous":
        steps = synchronous(machines, fill_s=run_s, service_s=service_s, walk_s=walk_s)
        return steps.interference, steps
    found = one_hand(
        machines,
        run_s=run_s,
        service_s=service_s,
        law=law,  # type: ignore[arg-type]
        service_cv=service_cv,
    )
    return found, None


def _costs(
    found: Interference, walk_s: float, cost_stopped: float | None, cost_hand: float | None
) -> tuple[tuple[Crew, ...], tuple[Assignment, ...]]:
    from clew.line.interference.crew_cost import crews
    from clew.line.interference.synchronous import cheapest_machines

    if cost_stopped is None or cost_hand is None:
        return (), ()
    if found.law == "exponential":
        table = crews(
            found.machines,
            run_s=found.run_s,
            service_s=found.service_s,
            cost_hand_per_hour=cost_hand,
            cost_waiting_per_hour=cost_stopped,
        )
        return table, ()
    best = cheapest_machines(
        fill_s=found.run_s,
        service_s=found.service_s,
        walk_s=walk_s,
        cost_machine_per_hour=cost_stopped,
        cost_hand_per_hour=cost_hand,
    )
    return (), best


def _tell(
    found: Interference,
    more: Patrol | Steps | None,
    applies: Applies | None,
    table: tuple[Crew, ...],
    best: tuple[Assignment, ...],
) -> None:
    from clew.line.interference.crew_cost import cheapest
    from clew.line.interference.patrol import Patrol
    from clew.line.interference.plain import wright_rule_s

    click.echo(
        f"Of {_many(found.machines, 'machine')} under {_many(found.hands, 'hand')}, "
        f"{number(found.running_mean)} run, {number(found.waiting_mean)} wait and "
        f"{number(found.hands_busy)} are served: {100.0 * found.efficiency:.1f} % of machine time."
    )
    if applies is not None:
        for reason in applies.reasons:
            click.echo(reason)
        if applies.law != found.law:
            click.echo(f"For such stops take --law {applies.law}; this is {found.law}.")
    if table:
        crew = cheapest(table)
        click.echo(
            f"Cheapest: {_many(crew.interference.hands, 'hand')}, "
            f"{crew.cost_per_hour:.2f} an hour for hands and stopped machines."
        )
    if best:
        click.echo(
            f"Cheapest: {_many(best[0].machines, 'machine')} for one hand, "
            f"{best[0].cost_a_fill:.4g} a fill."
        )
    waits = "not in this model" if found.chance_waits is None else _percent(found.chance_waits)
    rows = [
        ("law", found.law),
        ("stops answered", f"{number(found.calls_per_hour)} an hour"),
        ("stops that wait", waits),
        ("mean wait of a stop", _time(found.wait_s)),
        ("a hand at work", _percent(found.hand_share)),
    ]
    if isinstance(more, Patrol):
        rows += [
            ("a hand walking", _percent(more.walking_frac)),
            ("a round", f"{_time(more.round_s)}, {_time(more.walk_round_s)} of it walking"),
            ("served a round", number(more.served_a_round)),
        ]
    elif more is not None:
        rows += [
            ("machines that fill a hand's time", number(more.ideal_machines)),
            ("cycle", _time(more.cycle_s)),
            ("hand idle a cycle", _time(more.hand_idle_s)),
            ("machine waits a cycle", _time(more.machine_idle_s)),
        ]
    if (rule := wright_rule_s(found)) is not None:
        rows.append(("the same by Wright's formula", _time(rule)))
    print_rows(rows)
    if table:
        print_table(
            ["hands", "stopped", "waiting", "running", "a hand at work", "cost an hour"],
            (
                [
                    str(crew.interference.hands),
                    f"{crew.interference.stopped_mean:.3f}",
                    f"{crew.interference.waiting_mean:.3f}",
                    _percent(crew.interference.efficiency),
                    _percent(crew.interference.hand_share),
                    f"{crew.cost_per_hour:.2f}",
                ]
                for crew in table
            ),
        )


def _many(count: int, word: str) -> str:
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def _percent(share: float) -> str:
    return f"{100.0 * share:.1f} %"


def _time(time_s: float) -> str:
    unit = "s" if time_s < 120.0 else "min" if time_s < 7200.0 else "h"
    return show(time_s, TIME, unit=unit)
