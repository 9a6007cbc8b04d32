"""The workbench as an application: pages, the JSON beside them, and nothing from elsewhere."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from threading import Timer

from fastapi import FastAPI
from starlette.responses import RedirectResponse

from clew import __version__
from clew.web.answers import answer_failures
from clew.web.api.ball import api_router
from clew.web.api.events import api_events_router, describe_events
from clew.web.api.knots import api_knots_router
from clew.web.api.line import api_line_router
from clew.web.api.lot import api_lot_router
from clew.web.api.plan import api_plan_router
from clew.web.api.run import api_run_router
from clew.web.api.shift import api_shift_router
from clew.web.api.weigh import api_weigh_router
from clew.web.asked.reader import reader_router
from clew.web.asked.speech import Speech
from clew.web.assets import asset_router
from clew.web.band.routes import band_router
from clew.web.case.routes import case_router
from clew.web.case.ship_routes import ship_router
from clew.web.creel.routes import creel_router
from clew.web.door.door import Door
from clew.web.door.guard import LOOPBACK, Guard
from clew.web.door.pages import door_router
from clew.web.drawn.chart_svg import DrawnThere
from clew.web.heat.dry_routes import dry_router
from clew.web.heat.steam_routes import steam_router
from clew.web.knots.answer_routes import knots_answer_router
from clew.web.knots.routes import knots_router
from clew.web.lots.files import LotFiles
from clew.web.lots.routes import lots_router
from clew.web.manual.routes import manual_router
from clew.web.orders.routes import orders_router, planner_of
from clew.web.packed import Packed
from clew.web.run.hand_routes import hand_router
from clew.web.run.next import run_is_on
from clew.web.run.routes import run_router
from clew.web.shift.routes import shift_router
from clew.web.trace.routes import trace_router
from clew.web.wind.card_routes import card_router
from clew.web.wind.routes import wind_router
from clew.web.workbench import Workbench


def create_app(
    mill_folder: Path,
    *,
    hosts: Iterable[str] = LOOPBACK,
    sign_in: bool = False,
    warmed: bool = False,
) -> FastAPI:
    """Make the workbench of one mill.

    Parameters
    ----------
    mill_folder : Path
        Folder that holds mill.toml; read at the first page and again whenever it changes.
    hosts : iterable of str
        Host names to answer to; ``*`` for any.
    sign_in : bool
        Whether readers must sign in; they must wherever it is not this machine alone that asks.
    warmed : bool
        Whether the slow parts are started aside once it is open, so that no page waits for them;
        for who serves for hours, not for who asks one page.

    Returns
    -------
    FastAPI
        The application. Its pages that describe the interface are off, because they load from
        elsewhere; the description itself is at /openapi.json.
    """
    bench = Workbench(mill_folder)
    lot_files = LotFiles(mill_folder, bench)
    planner = planner_of(bench)
    app = FastAPI(
        title="Clew",
        version=__version__,
        docs_url=None,
        redoc_url=None,
        lifespan=_warmed if warmed else _cold,
    )
    app.state.bench = bench
    app.add_middleware(Door, bench=bench, sign_in=sign_in)
    app.add_middleware(Speech, mill=bench.mill)
    app.add_middleware(DrawnThere)
    app.add_middleware(Packed)
    app.add_middleware(Guard, hosts=tuple(hosts))
    answer_failures(app, bench)
    routers = (
        asset_router(bench.assets),
        reader_router(),
        door_router(bench),
        orders_router(bench, planner),
        creel_router(bench),
        knots_router(bench),
        knots_answer_router(bench),
        steam_router(bench),
        dry_router(bench),
        wind_router(bench),
        shift_router(bench),
        band_router(bench),
        case_router(bench),
        ship_router(bench),
        lots_router(bench, lot_files),
        card_router(bench),
        run_router(bench),
        hand_router(bench),
        trace_router(bench),
        manual_router(bench),
        api_router(bench),
        api_knots_router(bench),
        api_line_router(bench),
        api_shift_router(bench),
        api_weigh_router(bench),
        api_lot_router(bench, lot_files),
        api_plan_router(bench, planner),
        api_run_router(bench),
        api_events_router(bench),
    )
    for router in routers:
        app.include_router(router)
    describe_events(app)

    @app.get("/", include_in_schema=False)
    def front() -> RedirectResponse:
        """Open Run while a run is on: it says what the line needs now, which nothing else does."""
        return RedirectResponse("/run" if run_is_on(bench) else "/wind")

    return app


_DOOR_FIRST_S = 0.5
"""What is warmed waits so long, so that the door is open first."""


@asynccontextmanager
async def _cold(app: FastAPI) -> AsyncIterator[None]:
    """Close what was opened."""
    yield
    app.state.bench.ledger.close()


@asynccontextmanager
async def _warmed(app: FastAPI) -> AsyncIterator[None]:
    """Start the slow parts aside, so that the first page does not wait for them."""
    aside = Timer(_DOOR_FIRST_S, _warm, (app.state.bench,))
    aside.daemon = True
    aside.start()
    async with _cold(app):
        yield
        aside.cancel()


def _warm(bench: Workbench) -> None:
    with suppress(RuntimeError):  # threads cannot be begun once the workbench is closed
        from clew.web.assets import draws_script
        from clew.web.band.answer import warm_band
        from clew.web.drawn.chart_svg import warm
        from clew.web.lots.page import warm_lots
        from clew.web.orders.page import warm_orders
        from clew.web.shift.page import warm_shift

        warm()
        warm_lots()
        warm_shift(bench.mill)
        warm_band(bench.mill)
        warm_orders(bench.mill)
        draws_script()
