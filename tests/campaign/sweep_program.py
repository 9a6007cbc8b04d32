"""A command that sweeps, as those of the house do, for tests that stop and kill it."""

from __future__ import annotations

import json
import signal
from pathlib import Path

import click
from swept_functions import Setting, Summary, summary

from clew.campaign.checkpoint import Checkpoint
from clew.campaign.grid import Axis, Grid
from clew.campaign.records import plain
from clew.campaign.sweep import sweep
from clew.cli.line.sweep_progress import sweep_progress

AXES = Grid(
    (Axis("feed_m_per_s", tuple(1.0 + step / 7.0 for step in range(20))), Axis("hands", (1, 2)))
)
SEED = 7


def settings(calls: str = "", nap_s: float = 0.0) -> tuple[Setting, ...]:
    return AXES.around(Setting(0.0, 0, calls, nap_s))


@click.command()
@click.argument("calls")
@click.argument("checkpoint", type=click.Path(path_type=Path))
@click.option("--nap", "nap_s", type=float, default=0.05)
@click.option("--workers", type=int, default=2)
def main(calls: str, checkpoint: Path, nap_s: float, workers: int) -> None:
    # Started from a shell's background, a program would not hear Ctrl-C otherwise.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    with sweep_progress("Sweeping") as progress:
        found = sweep(
            summary,
            settings(calls, nap_s),
            workers=workers,
            checkpoint=Checkpoint.of(Summary, checkpoint, seed=SEED),
            progress=progress,
        )
    click.echo(json.dumps([plain(one) for one in found]))


if __name__ == "__main__":
    main()
