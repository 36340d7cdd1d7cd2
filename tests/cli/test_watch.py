"""`watch`: a study drawn again on save, and shown to this machine's browsers alone."""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from cli_calls import SCENE, STUDY, done, listing, refused, yard
from watch_calls import FAST, watching

pytestmark = pytest.mark.skipif(os.name != "posix", reason="signals as POSIX has them")
pytest.importorskip("watchfiles", reason="watchfiles is not installed (extra watch)")


def asked(port: int, path: str, method: str = "GET", host: str | None = None) -> tuple[int, bytes]:
    """Status and contents of an answer; of a stream its first line."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=10)
    line.putrequest(method, path, skip_host=True)
    if host != "":
        line.putheader("Host", host or f"127.0.0.1:{port}")
    line.endheaders()
    answer = line.getresponse()
    is_stream = answer.getheader("Content-Type") == "text/event-stream"
    try:
        return answer.status, answer.readline() if is_stream else answer.read()
    finally:
        line.close()


@contextmanager
def events(port: int) -> Iterator[Iterator[dict[str, Any]]]:
    """What a page that listens is told, one by one."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
    line.request("GET", "/events", headers={"Host": f"127.0.0.1:{port}"})
    answer = line.getresponse()
    try:
        lines = iter(answer.readline, b"")
        yield (json.loads(line.removeprefix(b"data: ")) for line in lines if line.startswith(b"data: "))
    finally:
        line.close()


def test_what_is_saved_is_drawn_again_and_only_what_has_changed(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    yard(folder)
    with watching(folder) as call:
        assert call.wrote(1) == [("yard.png", 2)]
        first = (folder / "yard.png").read_bytes()
        one_lens = STUDY.replace("[24, 50]", "[24, 70]")
        call.save(one_lens)
        assert call.wrote(2)[-1] == ("yard.png", 1)
        assert (folder / "yard.png").read_bytes() != first
        retitled = one_lens.replace("Does the crate show?", "Does it show?")
        call.save(retitled)
        assert call.wrote(3)[-1] == ("yard.png", 0)

        kept = (folder / "yard.png").read_bytes()
        call.save(retitled.replace("focal_mm = 35", "focal_mm = -35"))
        said = call.until(lambda lines: any("focal_mm" in line for line in lines))
        assert [line for line in said if "focal_mm" in line] == [
            "yard.study.toml: camera: focal_mm is -35, must be above 0."
        ]
        assert (folder / "yard.png").read_bytes() == kept
        call.save(retitled.replace("distance_m = 8", "distance_m = 9"))
        assert call.wrote(4)[-1] == ("yard.png", 2)
        call.save(SCENE.replace("size = [1, 1, 1]", "size = [1, 2, 1]"), "yard.toml")
        assert call.wrote(5)[-1] == ("yard.png", 2)

        children = Path(f"/proc/{call.process.pid}/task/{call.process.pid}/children")
        if children.exists():
            for child in children.read_text().split():
                os.kill(int(child), signal.SIGKILL)  # what draws has died: another takes its place
            call.save(retitled.replace("distance_m = 8", "distance_m = 7"))
            assert call.wrote(6)[-1] == ("yard.png", 2)

        before = set(listing(folder))
        os.killpg(call.process.pid, signal.SIGINT)
        assert call.process.wait(20) == 128 + signal.SIGINT
        assert call.said()[-1] == "Stopped; nothing more was written."
        assert not [line for line in call.said() if "Traceback" in line]
    assert set(listing(folder)) == before == {"yard.png", "yard.study.toml", "yard.toml"}
    drawn = (folder / "yard.png").read_bytes()
    done("sheet", "yard.study.toml", *FAST, "-o", "again.png", "--alone", "--quiet", cwd=folder)
    assert (folder / "again.png").read_bytes() == drawn


def test_a_stop_while_it_draws_leaves_no_part_of_a_file(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    yard(folder)
    with watching(folder, "--page", "review.html") as call:
        call.address()
        before = listing(folder).keys()
        call.save(STUDY.replace("[24, 50]", "[20, 24, 28, 35, 40, 50]"))
        time.sleep(0.3)
        os.killpg(call.process.pid, signal.SIGTERM)
        assert call.process.wait(20) == 128 + signal.SIGTERM
    assert listing(folder).keys() == before


def test_the_page_is_shown_to_this_machine_alone_and_nothing_else_is(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    yard(folder)
    with watching(folder, "--page", "review.html") as call:
        port = int(call.address().removeprefix("http://127.0.0.1:").removesuffix("/"))
        status, page = asked(port, "/")
        assert status == 200
        assert b"connect-src 'self'" in page
        assert b"connect-src" not in (folder / "review.html").read_bytes()
        assert asked(port, "/", "HEAD") == (200, b"")
        for path in ("/review.html", "/yard.toml", "/../yard.toml", "/%2e%2e/yard.toml", "/?x", "*"):
            assert asked(port, path) == (404, b"Not Found\n")
        for host in ("example.org", f"example.org:{port}", "127.0.0.1:1", ""):
            assert asked(port, "/", host=host)[0] == 421
            assert asked(port, "/events", host=host)[0] == 421
        for method in ("POST", "PUT", "DELETE", "OPTIONS"):
            assert asked(port, "/", method)[0] == 501

        status, event = asked(port, "/events")
        assert status == 200
        version = re.search(rb'"version": "([0-9a-f]{16})", "wrong": ""', event)
        assert version is not None
        assert version[1] in page
        call.save(STUDY.replace("focal_mm = 35", "focal_mm = -35"))
        call.until(lambda lines: any("must be above 0" in line for line in lines))
        assert b"must be above 0" in asked(port, "/events")[1]
        assert asked(port, "/") == (200, page)
        call.save(STUDY.replace("Does the crate", "Does the box"))
        assert call.wrote(2) == [("review.html", 2), ("review.html", 0)]
        os.killpg(call.process.pid, signal.SIGINT)
        assert call.process.wait(20) == 128 + signal.SIGINT


def test_a_page_that_is_drawn_again_is_told_of_cell_by_cell_before_it_is_whole(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    yard(folder)
    with watching(folder, "--page", "review.html") as call:
        port = int(call.address().removeprefix("http://127.0.0.1:").removesuffix("/"))
        with events(port) as following:
            first = next(following)
            assert (first["due"], first["wrong"]) == (None, "")
            call.save(STUDY.replace("distance_m = 8", "distance_m = 9"))
            begun = next(following)
            assert begun == first | {"due": {"A1": True, "A2": True}}
            each = [next(following), next(following)]
            assert [(one["label"], one["place"], one["words"]) for one in each] == [
                ("A1", "here", "24 mm"),
                ("A2", "here", "50 mm"),
            ]
            last = next(following)
            assert (last["due"], last["version"] != first["version"]) == (None, True)
            page = asked(port, "/")[1]
            assert last["version"].encode() in page
            assert all(one["pictures"]["clay"].encode() in page for one in each)
            call.save(STUDY.replace("distance_m = 8", "distance_m = -9"))
            assert "must be above 0" in next(following)["wrong"]
            call.save(STUDY.replace("distance_m = 8", "distance_m = 9").replace("[24, 50]", "[24, 60]"))
            assert next(following) == last | {"due": {"A1": False, "A2": True}}
            assert next(following)["label"] == "A2"
            assert next(following)["due"] is None
        assert call.wrote(3) == [("review.html", 2), ("review.html", 2), ("review.html", 1)]
        os.killpg(call.process.pid, signal.SIGINT)
        assert call.process.wait(20) == 128 + signal.SIGINT
    written = (folder / "review.html").read_bytes()
    done("page", "yard.study.toml", *FAST, "-o", "again.html", "--quiet", cwd=folder)
    assert (folder / "again.html").read_bytes() == written


def test_without_watchfiles_it_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    yard(tmp_path)
    monkeypatch.setitem(sys.modules, "watchfiles", None)
    said = refused("watch", "yard.study.toml", cwd=tmp_path, code=3)
    assert said == (
        "watch needs watchfiles, which is not installed.\n"
        'Install it with: pip install "stationpoint[watch]"\n'
    )


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("yard.study.toml", "-o", "-"), "not to standard output"),
        (("yard.study.toml", "-o", "yard.toml"), "a sheet is a PNG, SVG or PDF"),
        (("yard.study.toml", "--page", "review.png"), "a page for review is HTML"),
        (("gone.study.toml",), "there is no such file"),
        (("yard.study.toml", "--marks", "nothing"), 'there is no mark "nothing"'),
    ],
)
def test_what_can_never_be_drawn_ends_at_once(words: tuple[str, ...], says: str, tmp_path: Path) -> None:
    yard(tmp_path)
    assert says in refused("watch", *words, cwd=tmp_path)
