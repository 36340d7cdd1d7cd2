"""Tests as JUnit XML, which build servers read: suites of tests that hold, fail, are left out or broke.

Written through the standard library's ElementTree. The format has no one schema; what is written here fits
the one that pytest's reports are tested with (junit-10.xsd of Jenkins' xunit plug-in). No times and no host:
same inputs, same bytes.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from stationpoint.base.words import TOOL, visible

NOT_XML = re.compile("[\ufffe\uffff]")  # beside what `visible` shows, what XML 1.0 cannot hold


class Test(NamedTuple):
    """One test. failed: why it fails, the worst first. broke: why it could not be run. left_out: why it was
    not."""

    name: str
    failed: tuple[str, ...] = ()
    broke: str = ""
    left_out: str = ""


class Suite(NamedTuple):
    """Tests under one name."""

    name: str
    tests: tuple[Test, ...]


def junit_text(suites: Sequence[Suite]) -> str:
    """The suites as JUnit XML. A failure's message is its first line; all its lines are its text."""
    from xml.etree import ElementTree  # late: of use to few calls

    total = _counts([test for suite in suites for test in suite.tests])
    del total["skipped"]  # which the schema knows of a suite alone
    root = ElementTree.Element("testsuites", {"name": TOOL, **total})
    for suite in suites:
        own = ElementTree.SubElement(root, "testsuite", {"name": _safe(suite.name), **_counts(suite.tests)})
        for test in suite.tests:
            names = {"classname": _safe(suite.name), "name": _safe(test.name)}
            case = ElementTree.SubElement(own, "testcase", names)
            told = {"failure": test.failed, "error": _some(test.broke), "skipped": _some(test.left_out)}
            for kind, lines in told.items():
                if lines:
                    safe = [_safe(line) for line in lines]
                    ElementTree.SubElement(case, kind, {"message": safe[0]}).text = "\n".join(safe)
    ElementTree.indent(root)
    body: str = ElementTree.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{body}\n'


def _some(words: str) -> tuple[str, ...]:
    return (words,) if words else ()


def _counts(tests: Sequence[Test]) -> dict[str, str]:
    return {
        "tests": str(len(tests)),
        "failures": str(sum(bool(test.failed) for test in tests)),
        "errors": str(sum(bool(test.broke) for test in tests)),
        "skipped": str(sum(bool(test.left_out) for test in tests)),
    }


def _safe(words: str) -> str:
    """Words on one line, with nothing in them that XML cannot hold; markup is ElementTree's to escape."""
    return NOT_XML.sub("\ufffd", visible(words))
