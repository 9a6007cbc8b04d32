"""A mill whose readers sign in: people, tokens, and clients for each of them."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from clew.ledger.people import passwords
from clew.ledger.people.passwords import Cost
from clew.ledger.people.people import add_person
from clew.ledger.people.roles import ROLES
from clew.ledger.people.sessions import begin_session, form_proof
from clew.ledger.people.tokens import add_token
from clew.ledger.store.ledger import Ledger
from clew.mill import write_demo
from clew.web.app import create_app
from clew.web.door.door import session_cookie
from clew.web.door.guard import Guard

HOST = "mill.example"
PASSWORD = "blue lamp by the river"
ORIGIN = {"origin": f"https://{HOST}"}
NAMES = {"hand": "Anke", "lead": "Jo", "quality": "Mika", "office": "Pat"}


class DoorMill:
    """The workbench of a mill whose readers sign in."""

    def __init__(self, folder: Path) -> None:
        write_demo(folder)
        self.app = create_app(folder, hosts=(HOST,), sign_in=True)
        self.bench = self.app.state.bench
        self.ledger: Ledger = self.bench.ledger.ledger()
        for role in ROLES:
            add_person(self.ledger, NAMES[role], role, PASSWORD, author="root")
        self.tokens = {
            scope: add_token(self.ledger, f"box {scope}", [scope], author="root")[1]
            for scope in ("events:write", "read")
        }

    def client(self, who: str = "", *, scheme: str = "https", app: object = None) -> TestClient:
        """A client of nobody, of a role, or of a token's scope."""
        made = TestClient(
            app or self.app,  # type: ignore[arg-type]
            base_url=f"{scheme}://{HOST}", follow_redirects=False,
        )  # fmt: skip
        if who in NAMES:
            token = begin_session(self.ledger, NAMES[who])
            made.cookies.set(session_cookie(scheme), token, domain=HOST)
            made.headers["x-csrf"] = form_proof(token)
        elif who in self.tokens:
            made.headers["authorization"] = f"Bearer {self.tokens[who]}"
        return made


@pytest.fixture(scope="module")
def door_mill(tmp_path_factory: pytest.TempPathFactory) -> Iterator[DoorMill]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(passwords, "COST", Cost(passes=1, memory_kib=8, lanes=1))
        made = DoorMill(tmp_path_factory.mktemp("door") / "mill")
        yield made
        made.bench.ledger.close()


__all__ = ["HOST", "NAMES", "ORIGIN", "PASSWORD", "DoorMill", "Guard", "door_mill"]
