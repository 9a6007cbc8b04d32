"""What is printed: the run card as PDF and as HTML, from one arrangement of its texts."""

from clew.papers.card_content import CardContent, Table, card_content
from clew.papers.card_rows import Group
from clew.papers.cautions import DEFERRAL, Caution, cautions
from clew.papers.fingerprint import inputs_fingerprint
from clew.papers.paper_data import Paper, Row
from clew.papers.run_card import run_card_pdf, run_card_png
from clew.papers.run_card_html import run_card_css, run_card_html

__all__ = [
    "DEFERRAL",
    "CardContent",
    "Caution",
    "Group",
    "Paper",
    "Row",
    "Table",
    "card_content",
    "cautions",
    "inputs_fingerprint",
    "run_card_css",
    "run_card_html",
    "run_card_pdf",
    "run_card_png",
]
