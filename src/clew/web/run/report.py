"""The report of a shift, as a paper to take along."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from clew.ledger.events.moments import utc_of
from clew.ledger.reports.of_ledger import report_of_shift, shift_named
from clew.papers.printing import made_now, pdf_of
from clew.papers.shift_report import shift_report_content
from clew.web.workbench import Workbench


def report_of(bench: Workbench, request: Request) -> Response:
    """Print the report of the shift that was asked for, or of the present one.

    Raises
    ------
    BadInput
        For a line that is not there, or a text that is no moment.
    CannotKeep
        When the ledger cannot be read.
    """
    mill = bench.mill.read().mill
    asked = request.query_params
    line = mill.find_line(asked.get("line") or mill.line[0].name)
    ledger = bench.ledger.ledger()
    shift = shift_named(asked.get("shift", ""), mill, ledger.clock())
    anchored = report_of_shift(ledger, mill, line.name, shift)
    content = shift_report_content(anchored, mill, bench.units(request))
    name = f"shift-{shift.name.replace(' ', '-').replace(':', '')}.pdf"
    return Response(
        pdf_of(content, made=made_now(mill.mill.time_zone, utc_of(ledger.clock()))),
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )
