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
    "/run", "/run?form=start", "/run?part=live", "/run?oven=1",
    "/run/hand", "/run/hand?lane=4", "/run/hand?lane=99", "/run/hand?clock=25:99",
    "/trace", "/trace?what=lot&name=SL-207", "/trace?what=cone&name=1234",
    "/trace?what=band&name=1234", "/trace?what=mouse", "/who", "/manual", "/manual?find=tie",
    "/manual/nowhere",
    "/steam", "/steam?feed_speed=310&steam_temperature=95",
    "/steam?steam_temperature=120&part=answer",
    "/dry", "/dry?feed_speed=320&part=answer", "/dry?regain_out=1&part=price", "/dry?belt_speed=90",
    "/wind", "/wind?lot=none", "/wind?tension=999", "/wind?lot=CH-031",
    "/wind?part=answer&shrink=22",
    "/wind?tension=5 g", "/steam?feed_speed=-5", "/dry?regain_out=900", "/creel?shrink=1e400",
    "/nothing-here",
    "/case", "/case?part=price", "/case?bag=x&run_balls=0&case=no", "/case?ball=Dunnow 50&bag=40",
    "/orders?run=1041&line=Line 1&place=1&part=wish",
    "/creel", "/creel?of=yarn:Querl&shrink=22", "/creel?shrink=95", "/creel?of=mouse",
    "/knots", "/knots?knot_limit=x", "/knots?breaks=500/km&part=answer",
    "/knots?part=price&ball=Querl 200", "/knots?breaks=9000", "/knots?lot=DN-044",
    "/knots/answer", "/knots/answer?joins=3", "/knots/answer?joins=999",
    "/knots/answer?at=12m 80m", "/knots/answer?at=12m, 80m", "/knots/answer?at=9000m",
    "/shift",
    "/shift?hands=99&at=99:00&drawn=0",
    "/shift?feed_speed=420 m/min&colour_changes=2&change=yes",
    "/shift?buffer=1 m",
    "/shift?lanes=1&hands=1&part=answer",
    "/shift?part=change",
    "/band", "/band?winder=4&chart=cusum", "/band?winder=2&value=length", "/band?chart=ewma",
    "/band?lot=SL-999&winder=77", "/band?target_mass=1 g", "/band?part=price", "/band?chart=pie",
    "/lots", "/lots?lot=SL-207&size=720&knots_looked=83&knots_found=1&band_looked=83&band_found=0",
    "/lots?lot=SL-207&size=720&knots_looked=83&knots_found=5&part=answer",
    "/lots?lot=SL-207&size=90&rule=us-category-a&rule=us-thread-states&rule=de-2020",
    "/lots?lot=SL-207&size=abc&seed=x&knots_found=3", "/lots?ball=Dunnow 50&rule=nope",
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
