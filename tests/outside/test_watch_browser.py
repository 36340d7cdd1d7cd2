"""The page that follows its study, in a real browser: loaded again in place, looking as it did."""

from __future__ import annotations

import json
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


FOLLOW = """
    const seen = [];
    const follow = () => {
      for (const item of document.querySelectorAll("#cells .cell")) {
        const over = item.querySelector(".cover");
        if (!over) continue;
        const [picture, says] = [over.querySelector("img"), item.querySelector(".says")];
        seen.push([
          item.querySelector(".label").textContent, over.textContent,
          Boolean(picture?.src.startsWith("data:image/webp")), getComputedStyle(says).visibility,
          document.getElementById("live").textContent,
        ]);
      }
      sessionStorage.setItem("seen", JSON.stringify(seen));
    };
    new MutationObserver(follow).observe(document.body, { childList: true, subtree: true });
"""
WAITS, COMES = "Being drawn again; this is how it was.", "Marks and readings follow."
ALL = (
    "The study is being drawn again. Pictures say where they are new; "
    "all else on this page is of the study before."
)


def test_while_a_study_is_drawn_again_each_cell_says_whether_it_is_new(tmp_path: Path) -> None:
    folder = tmp_path / "yard"
    two = STUDY + BRIEF
    yard(folder, two)
    with watching(folder, "--page", "review.html") as call, chromium(tmp_path, (900, 700)) as driven:
        driven.get(call.address())

        def seen_after(study: str) -> list[Any]:
            driven.execute_script(f"window.first = true; sessionStorage.removeItem('seen');{FOLLOW}")
            call.save(study)
            until(lambda: driven.execute_script("return window.first !== true"))
            assert driven.execute_script("return document.querySelectorAll('.cover').length") == 0
            seen: list[Any] = json.loads(driven.execute_script("return sessionStorage.getItem('seen')"))
            return [tuple(one) for k, one in enumerate(seen) if one not in seen[:k]]

        farther = two.replace("distance_m = 8", "distance_m = 9")
        seen = seen_after(farther)
        assert {one[4] for one in seen} <= {"", ALL}
        assert [one[:4] for one in seen] == [
            ("A1", WAITS, False, "visible"),
            ("A2", WAITS, False, "visible"),
            ("A1", f"24 mm New. {COMES}", True, "hidden"),
            ("A2", f"50 mm New. {COMES}", True, "hidden"),
        ]
        driven.execute_script("document.querySelector('[data-mode=silhouette]').click()")
        seen = seen_after(farther.replace("[24, 50]", "[24, 60]"))
        assert [one[:4] for one in seen] == [
            ("A2", WAITS, False, "visible"),
            ("A2", f"60 mm New. In clay. {COMES}", True, "hidden"),
        ]
        seen = seen_after(farther.replace("[24, 50]", "[30]"))
        assert [one[:3] for one in seen] == [
            ("A1", WAITS, False),
            ("A2", "No more in the study; this is how it was.", False),
            ("A1", f"30 mm New. In clay. {COMES}", True),
        ]
        driven.execute_script("document.querySelector('#cells .open').click()")
        driven.execute_script(FOLLOW.replace("#cells .cell", "#large").replace(".label", "#large-title"))
        call.save(farther.replace("[24, 50]", "[31]"))
        title = "return document.getElementById('large-title')?.textContent ?? ''"
        until(lambda: "31 mm" in driven.execute_script(title))
        large = json.loads(driven.execute_script("return sessionStorage.getItem('seen')"))
        assert ["A130 mm", f"31 mm New. In clay. {COMES}", True, "hidden"] in [one[:4] for one in large]
        assert driven.execute_script("return document.querySelectorAll('.cover').length") == 0
        logs = [one["message"] for one in driven.get_log("browser") if one["level"] == "SEVERE"]
        assert [one for one in logs if "events" not in one and "favicon" not in one] == []
