"""The run card as a page and as a PDF, and no link of any page that leads nowhere."""

from __future__ import annotations

import html
import io
import re
from urllib.parse import urlsplit

import pytest
from pypdf import PdfReader
from starlette.testclient import TestClient


def words_of_pdf(content: bytes) -> str:
    reader = PdfReader(io.BytesIO(content))
    assert len(reader.pages) == 1
    return reader.pages[0].extract_text()


@pytest.mark.parametrize("ball", ["Querl 100", "Querl 200", "Dunnow 50", "Sallowe 100"])
def test_page_card_and_pdf_give_the_same_turns(client: TestClient, ball: str) -> None:
    turns = client.get("/api/ball/turns", params={"ball": ball}).json()["turns"]
    page = client.get("/wind/card", params={"ball": ball})
    pdf = client.get("/wind/card.pdf", params={"ball": ball})
    assert page.status_code == pdf.status_code == 200
    assert f"<strong>{turns}</strong>" in page.text
    assert pdf.headers["content-type"] == "application/pdf"
    assert re.search(r'filename="run-card-[a-z0-9-]+\.pdf"', pdf.headers["content-disposition"])
    assert str(turns) in words_of_pdf(pdf.content)


def test_tried_values_stand_on_the_card_as_tried(client: TestClient) -> None:
    asked = {"shrink": "22 %"}
    own = client.get("/api/ball/turns").json()["turns"]
    note = f"Tried: shrink in steam 22 %. The mill file gives {own} turns."
    pdf = client.get("/wind/card.pdf", params=asked)
    for text in (client.get("/wind/card", params=asked).text, words_of_pdf(pdf.content)):
        assert "TRIED VALUES: NOT FOR THE RUN" in text
        assert note in " ".join(text.split())
    assert 'filename="tried-values-not-for-the-run-' in pdf.headers["content-disposition"]
    assert note in client.get("/wind", params=asked).text
    for path in ("/wind", "/wind/card"):
        assert "Tried:" not in client.get(path).text


def test_a_card_without_a_dye_lot_says_so(client: TestClient) -> None:
    asked = {"lot": "none"}
    assert "NO DYE LOT: nominal count" in client.get("/wind/card", params=asked).text
    pdf = words_of_pdf(client.get("/wind/card.pdf", params=asked).content)
    assert "NO DYE LOT: nominal count" in pdf


def test_a_card_of_tried_values_has_another_fingerprint(client: TestClient) -> None:
    def fingerprint(**asked: str) -> str:
        found = re.search(r"Inputs ([0-9a-f]{8})", client.get("/wind/card", params=asked).text)
        assert found
        return found.group(1)

    assert fingerprint() == fingerprint(shrink="20 %") != fingerprint(shrink="22 %")


def test_the_card_is_in_the_readers_units(client: TestClient) -> None:
    client.cookies.set("clew_units", "yard")
    assert " oz" in client.get("/wind/card").text
    assert " oz" in words_of_pdf(client.get("/wind/card.pdf").content)


@pytest.mark.parametrize("path", ["/wind/card", "/wind/card.pdf"])
def test_no_card_is_made_of_what_cannot_be_used(client: TestClient, path: str) -> None:
    answer = client.get(path, params={"tension": "forty"})
    assert answer.status_code == 422
    assert "not a quantity" in answer.text
    assert client.get(path, params={"ball": "Nope"}).status_code == 422


def one_of_its_kind(address: str) -> str:
    """A page whatever is asked of it; a page of the manual is as good as any other."""
    path = urlsplit(address).path
    return "/manual/…" if path.startswith("/manual/") else path


def test_no_link_leads_nowhere(client: TestClient) -> None:
    seen, next_up = {"/orders": ""}, ["/creel", "/wind", "/wind/card", "/nowhere"]  # orders: slow
    while next_up:
        address = next_up.pop(0)
        kind = one_of_its_kind(address)
        if kind in seen:
            continue
        seen[kind] = address
        answer = client.get(address)
        assert answer.status_code in (200, 307) or address == "/nowhere", address
        if "html" in answer.headers.get("content-type", "") and kind != "/manual/…":
            links = re.findall(r'<a [^>]*href="([^"#]+)"', answer.text)
            next_up += [html.unescape(link) for link in links]
    assert {"/creel", "/wind", "/wind/card.pdf", "/run/hand", "/manual/…", "/trace"} < seen.keys()
