"""The built wheel where nothing but what it asks for is installed, away from the checkout."""

from __future__ import annotations

import email.parser
import re
import signal
import subprocess
import zipfile
from email.message import Message
from pathlib import Path

import pytest
from tests.services.bare import ROOT, Bare, build_wheel
from tests.services.crawl import Crawl

pytestmark = pytest.mark.services
BALL, LOT = "Querl 100", "SL-207"
PASSED = {"__pycache__"}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_wheel(tmp_path_factory.mktemp("wheel"))


@pytest.fixture(scope="module")
def metadata(wheel: Path) -> Message:
    with zipfile.ZipFile(wheel) as held:
        (name,) = [one for one in held.namelist() if one.endswith(".dist-info/METADATA")]
        return email.parser.Parser().parsestr(held.read(name).decode())


@pytest.fixture(scope="module")
def bare(tmp_path_factory: pytest.TempPathFactory, wheel: Path, metadata: Message) -> Bare:
    asked = [one for one in metadata.get_all("Requires-Dist") or [] if "extra ==" not in one]
    return Bare(tmp_path_factory.mktemp("bare") / "venv", wheel, asked)


@pytest.fixture(scope="module")
def mill(tmp_path_factory: pytest.TempPathFactory, bare: Bare) -> Path:
    folder = tmp_path_factory.mktemp("works")
    made = bare.clew("mill", "init", "mill", folder=folder)
    assert made.returncode == 0, made.stderr
    return folder / "mill"


def of_source() -> dict[str, bytes]:
    """What the wheel must hold: all of the package's folder, and the manual's pages."""
    source, docs = ROOT / "src", ROOT / "docs"
    held = {
        path.relative_to(source).as_posix(): path.read_bytes()
        for path in (source / "clew").rglob("*")
        if path.is_file() and not PASSED & set(path.parts)
    }
    pages = [*docs.glob("*.md"), *docs.glob("made/*.md"), *docs.glob("pictures/*")]
    for path in pages:
        held[f"clew/manual/{path.relative_to(docs).as_posix()}"] = path.read_bytes()
    return held


def test_it_holds_the_package_and_nothing_else(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as built:
        assert built.testzip() is None
        info = {one for one in built.namelist() if ".dist-info/" in one}
        held = {one: built.read(one) for one in built.namelist() if one not in info}
    wanted = of_source()
    assert sorted(held) == sorted(wanted)
    assert [one for one, content in held.items() if content != wanted[one]] == []
    assert sum(not one.endswith(".py") for one in held) > 150
    assert {one.partition("/")[2] for one in info} == {
        "METADATA", "WHEEL", "RECORD", "entry_points.txt", "licenses/LICENSE", "licenses/NOTICE",
    }  # fmt: skip


def test_its_metadata(wheel: Path, metadata: Message) -> None:
    assert metadata["License-Expression"] == "Apache-2.0"
    assert metadata["Requires-Python"] == ">=3.11"
    assert "Typing :: Typed" in (metadata.get_all("Classifier") or [])
    assert set(metadata.get_all("Provides-Extra") or []) == {
        "archive", "cluster", "docs", "postgresql", "test",
    }  # fmt: skip
    assert str(metadata.get_payload()).startswith("# Clew")
    assert wheel.name.endswith("-py3-none-any.whl")


def test_pip_finds_nothing_missing(bare: Bare) -> None:
    checked = bare.pip("check")
    assert checked.returncode == 0, checked.stdout
    listed = bare.pip("list", "--format=freeze").stdout.casefold()
    assert "clew==" in listed
    for of_extras in ("pytest", "distributed", "pyarrow", "psycopg", "sphinx"):
        assert not re.search(rf"^{of_extras}==", listed, flags=re.M)


def test_the_checkout_is_not_what_runs(bare: Bare, tmp_path: Path) -> None:
    asked = "import clew, sys; print(clew.__file__); print(*sys.path, sep=chr(10))"
    said = subprocess.run(
        [str(bare.bin / "python"), "-c", asked],
        capture_output=True, text=True, check=True, cwd=tmp_path, env=bare.environment,
    ).stdout.splitlines()  # fmt: skip
    assert Path(said[0]).is_relative_to(bare.packages)
    assert not [one for one in said[1:] if one and Path(one).is_relative_to(ROOT)]
    help_text = bare.clew("--help", folder=tmp_path)
    assert help_text.returncode == 0
    assert "ship" in help_text.stdout


@pytest.mark.long
def test_the_work_of_a_day_is_done_with_it(bare: Bare, mill: Path, tmp_path: Path) -> None:
    for arguments, made in (
        (["mill", "check"], []),
        (["ball", "card", BALL, "--dye-lot", LOT, "--out", tmp_path],
         ["run-card-querl-100-sl-207.pdf", "run-card-querl-100-sl-207.html"]),
        (["weigh", "correct", mill / "shift-weighings.csv", "--ball", BALL], []),
        (["plan", "sequence", mill / "orders.csv", "--within", "1 s", "--out", tmp_path / "plan"],
         ["plan/plan.csv"]),
        (["ship", "labels", BALL, "--lot", LOT, "--bands", tmp_path / "bands.pdf", "--cases",
          tmp_path / "cases.pdf", "--anyway"], ["bands.pdf", "cases.pdf"]),
        (["ledger", "init"], []),
        (["run", "start", BALL, "--lot", LOT, "--by", "Ines"], []),
        (["ship", "case", "--lot", LOT, "--balls", "10", "--by", "Ines", "--label",
          tmp_path / "case.pdf", "--anyway", "tried"], ["case.pdf"]),
        (["ledger", "migrate"], []),
        (["ledger", "verify"], []),
    ):  # fmt: skip
        done = bare.clew(*arguments, "--mill", mill, folder=tmp_path)
        assert done.returncode in ((0, 1) if arguments[0] == "plan" else (0,)), (
            arguments, done.stdout, done.stderr,
        )  # fmt: skip
        assert "Traceback" not in done.stderr
        for name in made:
            written = (tmp_path / name).read_bytes()
            assert len(written) > 100
            assert not name.endswith(".pdf") or written.startswith(b"%PDF")


@pytest.mark.long
def test_the_demo_runs(bare: Bare, tmp_path: Path) -> None:
    done = bare.clew("demo", "--no-serve", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "786 turns" in done.stdout


@pytest.mark.parametrize(
    ("arguments", "environment", "extra"),
    [
        (["line", "sweep", "--over", "hands=1..2", "--cluster", "tcp://127.0.0.1:1"], {},
         "clew[cluster]"),
        (["ledger", "log"], {"CLEW_LEDGER": "postgresql://127.0.0.1:1/none"}, "clew[postgresql]"),
    ],
)  # fmt: skip
def test_an_extra_that_is_not_there_is_named_in_one_line(
    bare: Bare, mill: Path, tmp_path: Path, arguments: list[str], environment: dict[str, str],
    extra: str,
) -> None:  # fmt: skip
    before = dict(bare.environment)
    bare.environment.update(environment)
    try:
        done = bare.clew(*arguments, "--mill", mill, folder=tmp_path)
    finally:
        bare.environment = before
    assert done.returncode == 2
    assert done.stdout == ""
    assert re.fullmatch(r"clew: [^\n]*\n", done.stderr), done.stderr
    assert f'pip install "{extra}"' in done.stderr


@pytest.mark.long
def test_every_page_and_all_it_loads_is_served(bare: Bare, mill: Path, wheel: Path) -> None:
    server = subprocess.Popen(
        [str(bare.bin / "clew"), "serve", "--mill", str(mill), "--port", "0"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=mill.parent,
        env={**bare.environment, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    try:
        assert server.stdout is not None
        first = server.stdout.readline()
        port = re.search(r":(\d+)/", first)
        assert port, first + server.communicate(timeout=20)[1]
        crawl = Crawl()
        crawl.follow(int(port[1]), "/")
        crawl.follow(int(port[1]), "/openapi.json")
        crawl.follow(
            int(port[1]), "/manual", most=30
        )  # that all its pages are inside is seen above
        pages = [one for one, (_, kind) in crawl.answers.items() if kind == "text/html"]
        digests = {one.split("/")[2] for one in crawl.answers if one.startswith("/static/")}
        (digest,) = digests
        with zipfile.ZipFile(wheel) as held:
            static = [one.rpartition("/")[2] for one in held.namelist() if "/web/static/" in one]
        for name in static:
            crawl.follow(int(port[1]), f"/static/{digest}/{name}")
    finally:
        server.send_signal(signal.SIGINT)
        _, err = server.communicate(timeout=30)
    wrong = {one: said for one, said in crawl.answers.items() if said[0] >= 400}
    assert wrong == {}
    assert crawl.elsewhere == set()
    assert len(pages) >= 12
    assert len(static) >= 20
    assert max(crawl.drawings.values()) >= 3
    assert {kind for _, kind in crawl.answers.values()} >= {
        "text/html", "text/css", "text/javascript", "image/svg+xml", "application/pdf",
    }  # fmt: skip
    assert "Traceback" not in err
