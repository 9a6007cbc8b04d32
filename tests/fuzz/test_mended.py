"""What the fuzz, or looking where it could not reach, found at fault: each failed before."""

from __future__ import annotations

import dataclasses
import json
import shutil
import sqlite3
from pathlib import Path

import click
import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient
from tests.fuzz.demo import demo_mill
from tests.fuzz.kept import ledger_with_a_day, one_point

from clew.cli.main import main
from clew.faults import BadInput
from clew.web.app import create_app

SQLITES_PAGE = 4096


def damaged(folder: Path, old: bytes, new: bytes) -> Path:
    """A sound backup with some bytes of its file changed."""
    from clew.ledger.safekeeping.manifest import manifest_path

    _, saved, _ = ledger_with_a_day()
    path = folder / "copy.db"
    said = saved.read_bytes()
    assert old in said
    path.write_bytes(said.replace(old, new))
    shutil.copy(manifest_path(saved), manifest_path(path))
    return path


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"CREATE TABLE chain", b"CREATE TABLE ch\xe2in"), (b"CREATE TABLE", b"CREATE T\xe2BLE"),
        (b"CREATE INDEX", b"CREATE IND\xffX"),
    ],
)  # fmt: skip
def test_a_backup_whose_description_is_spoilt_is_called_damaged(
    tmp_path: Path, old: bytes, new: bytes
) -> None:
    from clew.ledger.safekeeping.backup import check_backup

    assert not check_backup(damaged(tmp_path, old, new)).whole


@pytest.mark.parametrize(
    "change",
    [{"made_us": 1e400}, {"size_bytes": float("-inf")}, {"tables": {"event": 1e400}},
     {"heads": [{"line": "Line 1", "seq": 1e400, "hash": "00"}]}, {"sha256": 3}],
)  # fmt: skip
def test_a_manifest_without_finite_numbers_is_none(
    tmp_path: Path, change: dict[str, object]
) -> None:
    from clew.ledger.safekeeping.manifest import manifest_path, read_manifest

    _, saved, _ = ledger_with_a_day()
    said = json.loads(manifest_path(saved).read_text("utf-8"))
    manifest_path(tmp_path / "copy.db").write_text(json.dumps(said | change), "utf-8")
    with pytest.raises(BadInput, match="no manifest of a backup"):
        read_manifest(tmp_path / "copy.db")


def test_a_winder_called_by_a_raised_figure_is_no_number_of_one() -> None:
    from clew.checks.components.drift_from_mill import drift_terms

    with pytest.raises(BadInput, match="not a winder's number"):
        drift_terms(demo_mill(), "Querl 100", "SL-207", "Line 1", ["1", "\u00b2"])


def test_a_checkpoint_of_another_record_is_damaged_and_left_alone(tmp_path: Path) -> None:
    from clew.campaign.checkpoint import Checkpoint

    path = tmp_path / "sweep.jsonl"
    sweep = Checkpoint.of(Output, path, seed=1, version="1")
    with sweep.opened(one_point, [1.0, 2.0, 3.0]):
        pass
    said = path.read_bytes() + b'{"point": 0, "result": [1, 2]}\n{"point": 1, "result": 3}\n'
    path.write_bytes(said)
    with (
        pytest.raises(BadInput, match="is damaged"),
        sweep.opened(one_point, [1.0, 2.0, 3.0]),
    ):
        pass
    assert path.read_bytes() == said


@dataclasses.dataclass(frozen=True)
class Output:
    """A record of a sweep."""

    balls: float


@pytest.mark.parametrize("body", ["[" * 100_000, '{"a":' * 100_000])
def test_a_record_that_was_made_deep_is_found_and_does_not_stop_the_walk(body: str) -> None:
    from clew.ledger.audit.walk import is_canonical

    assert not is_canonical(body)


def test_a_winder_called_by_a_raised_figure_is_sorted_with_the_names() -> None:
    from clew.web.band.answer import in_order

    assert sorted(["\u00b2", "10", "9"], key=in_order) == ["9", "10", "\u00b2"]


@pytest.mark.parametrize(
    "found", ["knots=" + "9" * 5000 + ",1", "knots=1," + "1" * 8, "knots=\u00b2,1"]
)
def test_a_count_of_thousands_of_figures_is_no_count(found: str) -> None:
    from clew.cli.lot.release import _inspections

    with pytest.raises(BadInput, match="not a fault with its balls"):
        _inspections((found,))


@pytest.mark.parametrize("site", ["https://mill\x1b[31m", "https://\ud800", "https://a b"])
def test_an_address_for_exports_can_be_written(site: str) -> None:
    from clew.ledger.trace.epcis import Keys

    with pytest.raises(BadInput, match="no web address"):
        Keys(site=site)


@pytest.fixture(scope="module")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> TestClient:
    """A workbench of the demo mill."""
    from clew.mill import write_demo

    folder = tmp_path_factory.mktemp("mill")
    write_demo(folder)
    return TestClient(create_app(folder), base_url="http://127.0.0.1", follow_redirects=False)


def test_a_length_of_thousands_of_figures_is_too_long(workbench: TestClient) -> None:
    headers = {"content-length": "9" * 5000, "content-type": "application/json"}
    assert workbench.post("/api/events", content=b"{}", headers=headers).status_code == 413


def test_a_lane_is_not_read_off_the_first_figures_of_something_longer(
    workbench: TestClient,
) -> None:
    form = {"deed": "doff", "line": "Line 1", "lane": "00019999", "key": "k"}
    answer = workbench.post("/run/hand", data=form, headers={"accept": "application/json"})
    assert answer.status_code == 422
    assert "no such lane" in answer.text


def test_sqlite_still_says_what_is_damaged_where_it_can(tmp_path: Path) -> None:
    from clew.ledger.safekeeping.backup import check_backup

    _, saved, _ = ledger_with_a_day()
    whole = sqlite3.connect(saved)
    assert whole.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    whole.close()
    assert check_backup(saved).whole
    path = tmp_path / "copy.db"
    path.write_bytes(saved.read_bytes()[:SQLITES_PAGE])
    from clew.ledger.safekeeping.manifest import manifest_path

    shutil.copy(manifest_path(saved), manifest_path(path))
    assert not check_backup(path).whole


@click.command()
def unopened() -> None:
    """Stand for a command that meets a file it cannot open."""
    raise FileNotFoundError(2, "No such file or directory", "a\x1b[31mb")


def test_a_file_that_cannot_be_opened_is_named_in_letters_that_can_be_printed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(main.table, "unopened", (__name__, "unopened", ""))
    result = CliRunner().invoke(main, ["unopened"])
    assert result.exit_code == 2
    assert result.stderr == "clew: a\\x1b[31mb: No such file or directory\n"


@pytest.mark.parametrize("address", [b"/creel?of=\xff", b"/%00", b"/nothing%1b", b"/run?a=\x01"])
def test_an_address_that_nobody_can_read_is_refused_before_any_page(address: bytes) -> None:
    from tests.fuzz.asked import ask, close

    assert ask("addresses", b"GET " + address) == [400]
    close("addresses")


def test_an_address_with_letters_of_any_script_is_looked_for() -> None:
    from tests.fuzz.asked import ask, close

    assert ask("addresses", "GET /m\u00fchle?a=%C3%BC".encode()) == [404]
    close("addresses")
