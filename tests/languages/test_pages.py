"""No page writes past the catalogues: every word is a message, or a name in the mill file."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from pseudo import CODE, Bracketed, unsaid
from starlette.testclient import TestClient
from unsaid import names_of, texts_of

from clew.languages import tongues
from clew.mill import write_demo
from clew.web.app import create_app

PAGES = (
    "/nothing-here",
)  # fmt: skip
"""Pages and parts of pages, sound and with faults, of the demo mill with an empty ledger."""


@pytest.fixture(scope="module")
def at(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, set[str]]]:
    mill = tmp_path_factory.mktemp("said") / "mill"
    write_demo(mill)
    own, odd = tongues.tongue_of, Bracketed()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(tongues, "tongue_of", lambda code: odd if code == CODE else own(code))
        with TestClient(
            create_app(mill), base_url="http://127.0.0.1", cookies={"clew_language": CODE}
        ) as client:
            yield client, names_of(mill)


@pytest.mark.parametrize("address", PAGES)
def test_everything_on_a_page_is_said(at: tuple[TestClient, set[str]], address: str) -> None:
    client, names = at
    answer = client.get(address)
    assert answer.text.count("⟦") == answer.text.count("⟧") > 10
    assert unsaid(texts_of(answer.text), names) == []
