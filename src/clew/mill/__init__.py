"""The mill file: what a mill is, read from one TOML file with every fault reported at once."""

from clew.mill.demo_mill import write_demo
from clew.mill.exchange import json_to_text, mill_to_plain, text_to_json
from clew.mill.fields import Clash
from clew.mill.finding import Check
from clew.mill.model import Mill
from clew.mill.reading import mill_file, mill_from_text, mill_text, read_mill

__all__ = [
    "Check",
    "Clash",
    "Mill",
    "json_to_text",
    "mill_file",
    "mill_from_text",
    "mill_text",
    "mill_to_plain",
    "read_mill",
    "text_to_json",
    "write_demo",
]
