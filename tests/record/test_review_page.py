"""The file of a page for review: its policy, what it escapes, its bytes."""

from __future__ import annotations

import base64
import hashlib
import json
import re

import numpy as np
import pytest
from PIL import Image

from stationpoint.record.review.page import ASSETS, LIVE, SCRIPTS, STYLES, review_page, safe_json
from stationpoint.record.review.webp import webp_bytes

HOSTILE = '</script><script>window.hit=1</script><img src=x onerror="window.hit=1"> & \u2028\u2029 "צד"'
DATA = {"title": HOSTILE, "cells": [HOSTILE], "half": "\ud800"}
FONTS = "@font-face{font-family:'Sheet 0';src:url(data:font/ttf;base64,AAAA)}\n"


def page() -> str:
    return review_page(DATA, [b"RIFF", b"WEBP"], FONTS, "'Sheet 0'").decode()


def parts(kind: str, html: str) -> list[str]:
    return re.findall(rf"<{kind}>(.*?)</{kind}>", html, re.DOTALL)


def test_policy_allows_the_pages_own_script_and_style_by_digest_and_nothing_else() -> None:
    html = page()
    (policy,) = re.findall(r'http-equiv="Content-Security-Policy" content="([^"]+)"', html)
    rules = dict(one.strip().partition(" ")[::2] for one in policy.split(";"))
    assert rules["default-src"] == "'none'"
    assert rules["img-src"] == rules["font-src"] == "data:"
    for kind, rule in (("style", "style-src"), ("script", "script-src")):
        (text,) = parts(kind, html)
        # CSP 3, 2.3.1: the digest of the element's text, in base64
        coded = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        assert rules[rule] == f"'sha256-{coded}'"
    assert "unsafe" not in policy
    assert set(rules) == {
        *("default-src", "img-src", "font-src", "style-src", "script-src", "base-uri", "form-action")
    }


def test_policy_stands_before_all_that_it_rules() -> None:
    html = page()
    assert html.index("Content-Security-Policy") < min(html.index("<style"), html.index("<script"))


def test_names_are_data_and_no_markup() -> None:
    html = page()
    (text,) = re.findall(r'<script type="application/json" id="data">(.*?)</script>', html, re.DOTALL)
    assert json.loads(text) == DATA
    assert re.search("[<>&\u2028\u2029]", text) is None
    assert "window.hit" not in html.replace(text, "")
    assert html.count("<script") == 3  # data, pictures and the page's own


def test_nothing_is_asked_for_from_elsewhere() -> None:
    html = page()
    addresses = set(re.findall(r"https?://[^\"'\s)<]+", html))
    assert addresses == {"http://www.w3.org/2000/svg", "http://www.w3.org/XML/1998/namespace"}
    assert (
        re.search(r"@import|\bfetch\(|XMLHttpRequest|WebSocket|sendBeacon|\beval\(|new Function", html)
        is None
    )


def test_no_words_are_made_into_markup() -> None:
    script = "".join((ASSETS / name).read_text("utf-8") for name in SCRIPTS)
    assert len(script) > 10000
    assert (
        re.search(r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|DOMParser|srcdoc", script) is None
    )
    assert re.search(r"""["']style["']\s*[,:]""", script) is None


def test_every_asset_is_in_the_page() -> None:
    assert {path.name for path in ASSETS.iterdir()} == {"page.html", *SCRIPTS, *STYLES, *LIVE}


def test_the_same_page_twice_has_the_same_bytes() -> None:
    assert page() == page()


def test_grey_weighs_light_as_relative_luminance_does() -> None:
    # IEC 61966-2-1 and ITU-R BT.709: Y = 0.2126 R + 0.7152 G + 0.0722 B, in linear light
    filters = re.findall(r'linearRGB"><feColorMatrix values="([^"]+)"', page())
    assert filters == [" ".join(["0.2126 0.7152 0.0722 0 0"] * 3 + ["0 0 0 1 0"])]


@pytest.mark.parametrize("value", [float("nan"), float("inf")])
def test_what_json_has_not_is_refused(value: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        safe_json({"x": value})


def test_flat_pictures_keep_their_tints_and_others_stay_near() -> None:
    flat = np.zeros((40, 60, 3), np.uint8)
    flat[:, 30:] = (235, 164, 44)
    (one,) = {webp_bytes(flat, lossless=True) for _ in range(2)}
    from io import BytesIO

    assert np.array_equal(np.asarray(Image.open(BytesIO(one)).convert("RGB")), flat)
    ramp = np.repeat(np.linspace(0, 255, 60).astype(np.uint8)[None, :, None], 40, 0).repeat(3, 2)
    shown = np.asarray(Image.open(BytesIO(webp_bytes(ramp))).convert("RGB"))
    assert np.abs(shown.astype(int) - ramp).mean() < 3
