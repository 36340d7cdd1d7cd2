"""The page that follows its study, in a real browser: loaded again in place, looking as it did."""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from browser import chromium
from cli_calls import STUDY, yard
from watch_calls import watching

pytest.importorskip("watchfiles", reason="watchfiles is not installed (extra watch)")
BRIEF = '\n[[limit]]\nreading = "targets.crate.seen"\nmin = 0.5\nwhy = "it must show"\n'
ROWS = STUDY.replace("columns =", "rows = { pitch_deg = [4, 12, 20, 28, 36] }\ncolumns =") + BRIEF


def until(test: Callable[[], Any]) -> Any:
    end = time.monotonic() + 60
    while time.monotonic() < end:
        found = test()
        if found:
            return found
        time.sleep(0.05)
    raise AssertionError("it did not come to be")


def test_a_saved_study_is_seen_in_place(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    yard(folder, ROWS)
    with watching(folder, "--page", "review.html") as call, chromium(tmp_path, (900, 700)) as driven:
        driven.get(call.address())

        def ask(script: str) -> Any:
            return driven.execute_script(f"return {script}")

        def pressed() -> Any:
            return ask("document.querySelector('[data-mode=silhouette]').getAttribute('aria-pressed')")

        title = "document.getElementById('title').textContent"
        driven.execute_script(
            """
            document.querySelector('[data-mode=silhouette]').click();
            const order = document.getElementById('order');
            order.value = 'margin';
            order.dispatchEvent(new Event('change'));
            document.querySelector('[data-mark=targets]').click();
            scrollTo(0, 600);
            window.first = true;
            """
        )
        at = ask("scrollY")
        assert at > 300
        assert pressed() == "true"
        call.save(ROWS.replace("Does the crate show?", "Second"))
        until(lambda: ask(title) == "Second")
        assert ask("window.first") is None  # it was loaded again
        assert until(lambda: abs(ask("scrollY") - at) <= 1)
        assert pressed() == "true"
        assert ask("document.getElementById('order').value") == "margin"
        assert ask("document.querySelector('[data-mark=targets]').checked") is False

        driven.execute_script("document.querySelectorAll('#cells .open')[3].click()")
        name = ask("document.getElementById('large-title').textContent")
        driven.execute_script(
            "const note = document.getElementById('note'); note.value = 'calm';"
            "note.dispatchEvent(new Event('input'))"
        )
        call.save(ROWS.replace("Does the crate show?", "Third"))
        until(lambda: ask(title) == "Third")
        assert until(lambda: ask("document.getElementById('large').open"))
        assert ask("document.getElementById('large-title').textContent") == name
        assert ask("document.getElementById('note').value") == "calm"

        call.save(ROWS.replace("focal_mm = 35", "focal_mm = -35"))
        live = "document.getElementById('live')"
        until(lambda: "must be above 0" in ask(f"{live}.textContent"))
        assert ask(f"{live}.checkVisibility() && {live}.closest('dialog') !== null")
        assert ask(title) == "Third"
        call.save(ROWS.replace("Does the crate show?", "Third"))
        until(lambda: ask(f"{live} === null || {live}.hidden"))
        call.process.terminate()
        until(lambda: "Nothing is watching" in ask(f"{live}.textContent"))
        logs = [one["message"] for one in driven.get_log("browser") if one["level"] == "SEVERE"]
        assert [one for one in logs if "events" not in one and "favicon" not in one] == []
