"""The pages of the interface for programs: addresses, and the events' schemas."""

from __future__ import annotations

import json
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any


def _described() -> dict[str, Any]:
    from clew.mill import write_demo
    from clew.web.app import create_app

    with tempfile.TemporaryDirectory() as folder:
        write_demo(Path(folder) / "demo")
        described: dict[str, Any] = create_app(Path(folder) / "demo").openapi()
    return described


def _holds(schema: dict[str, Any]) -> str:
    if "$ref" in schema:
        return f"`{schema['$ref'].rpartition('/')[2]}`"
    if "anyOf" in schema:
        return " or ".join(_holds(one) for one in schema["anyOf"])
    if schema.get("type") == "array":
        return f"a list: {_holds(schema.get('items', {}))}"
    return str(schema.get("type", "anything"))


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|").replace("*", "\\*").replace("<", "\\<")


def _answers(way: dict[str, Any]) -> Iterator[str]:
    for status, answer in way["responses"].items():
        body = answer.get("content", {}).get("application/json", {}).get("schema", {})
        words = answer["description"]
        if words in ("Successful Response", "Unprocessable Entity"):
            words = {"2": "the answer", "4": "what is wrong"}[status[0]]
        yield f"{status}: {_cell(words)}, {_holds(body)}"


def api_page() -> str:
    described = _described()
    lines = [
        "# The API", "",
        "What it answers: **what can a program ask of the workbench, and tell it?** The same"
        " numbers as on the pages, as JSON; units stand in the keys. The description for programs"
        " is [OpenAPI](https://spec.openapis.org/oas/v3.1.0) at `/openapi.json` of every"
        " workbench; this page is made from it by `make docs`. Who may ask is in"
        " {doc}`../who_may`, how events are sent in {doc}`../ledger_http`.", "",
    ]  # fmt: skip
    for path, ways in described["paths"].items():
        for method, way in ways.items():
            lines += [f"## {method.upper()} {path}", "", way.get("description", way["summary"]), ""]
            asked = way.get("parameters", [])
            if asked:
                lines += ["| asked | holds | left out | what it says |", "|---|---|---|---|"]
            for one in asked:
                schema = one["schema"]
                default = "must be there" if one.get("required") else schema.get("default", "")
                words = _cell(one.get("description", ""))
                lines.append(
                    f"| `{one['name']}` | {_holds(schema)} | {default or 'nothing'} | {words} |"
                )
            lines += ["", *(f"- {one}" for one in _answers(way)), ""]
    lines += ["## What is wrong, for programs", "",
              "Every refusal has one shape: `faults`, a list of `what` is wrong, what was"
              " `expected`, under which `key`, the `value` found and its `place`. All faults come"
              " at once.", ""]  # fmt: skip
    return "\n".join(lines)


def events_page() -> str:
    from clew import __version__
    from clew.ledger.events.kinds import KINDS
    from clew.ledger.ingest.described import message_schema
    from clew.ledger.ingest.topics import async_api

    lines = [
        "# Event schemas", "",
        "What it answers: **how does a program know what an event must look like?** The ledger"
        f" describes all {len(KINDS)} kinds as JSON Schema 2020-12 (`clew ledger schema`), and the"
        " topics they come by as AsyncAPI 3.0 (`clew ledger schema --async`). The fields of every"
        " kind in words are in {doc}`../ledger_messages`. Made from the program by"
        " `make docs`.", "",
        "## One kind, whole", "",
        "Made by: `clew ledger schema --kind weighing`. The other kinds have the same shape.", "",
        "```json", json.dumps(message_schema("weighing"), indent=1, ensure_ascii=False), "```", "",
        "## Kinds", "", "| kind | what happened | belongs to | must name | entered by hand |",
        "|---|---|---|---|---|",
    ]  # fmt: skip
    for kind, of in KINDS.items():
        names = ", ".join(f"`{name}`" for name in of.must)
        lines.append(
            f"| `{kind}` | {of.words} | {of.where} | {names} | {'yes' if of.by_hand else ''} |"
        )
    topics = async_api(__version__)
    lines += ["", "## Topics", "", "Made by: `clew ledger schema --async`.", "",
              "| channel | address | what comes by it |", "|---|---|---|"]  # fmt: skip
    for name, channel in topics["channels"].items():
        lines.append(
            f"| `{name}` | `{channel['address']}` | {_cell(channel.get('description', ''))} |"
        )
    return "\n".join([*lines, ""])
