"""JUnit XML as build servers read it: by the schema of pytest's own reports, and by a reader."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped

from stationpoint.record.junit import Suite, junit_text
from stationpoint.record.junit import Test as Case

# Of the published junit-10.xsd (Jenkins xunit plug-in; pytest tests its `junit_family = xunit2` with it) all
# that is about what is written here: element -> attributes that it must have, that it may have, and its
# children in any order and number; text stands in those of TEXT alone.
REQUIRED = {
    "testsuites": set[str](),
    "testsuite": {"name", "tests", "failures", "errors"},
    "testcase": {"name"},
    "failure": set[str](),
    "error": set[str](),
    "skipped": set[str](),
}
ALLOWED = {
    "testsuites": {"name", "time", "tests", "failures", "errors"},
    "testsuite": {
        *("name", "tests", "failures", "errors", "group", "time", "skipped", "timestamp", "hostname", "id"),
        *("package", "file", "log", "url", "version"),
    },
    "testcase": {"name", "time", "classname", "group"},
    "failure": {"type", "message"},
    "error": {"type", "message"},
    "skipped": {"type", "message"},
}
CHILDREN = {
    "testsuites": {"testsuite"},
    "testsuite": {"testsuite", "properties", "testcase", "system-out", "system-err"},
    "testcase": {"skipped", "error", "failure", "system-out", "system-err"},
    "failure": set[str](),
    "error": set[str](),
    "skipped": set[str](),
}
TEXT = {"failure", "error", "skipped"}

SUITES = (
    Suite(
        "pier.study.toml",
        (
            Case("A1 (focal_mm 20): crate: seen at least 80 %"),
            Case("A2", failed=("A2 fails: crate: seen 61 %, needs 80 %.", "A2 fails: hop: lies.")),
            Case("A3", left_out="It is about another place."),
        ),
    ),
    Suite("broken <b>&\"'\x1b\ufffe", (Case("read", broke="scene is 3, must be text."),)),
    Suite("nothing", ()),
)


def beyond_the_schema(element: ElementTree.Element) -> Iterator[str]:
    """What an element, or one in it, has that the schema does not know."""
    tag = element.tag
    yield from (f"{tag} has no {name}" for name in REQUIRED[tag] - element.attrib.keys())
    yield from (f"{tag} has {name}" for name in element.attrib.keys() - ALLOWED[tag])
    if (element.text or "").strip() and tag not in TEXT:
        yield f"{tag} has text"
    for child in element:
        if child.tag not in CHILDREN[tag]:
            yield f"{tag} holds {child.tag}"
        elif (child.tail or "").strip():
            yield f"{tag} has text"
        else:
            yield from beyond_the_schema(child)


@pytest.mark.parametrize("suites", [SUITES, ()])
def test_report_fits_the_schema_of_its_readers(suites: tuple[Suite, ...]) -> None:
    root = ElementTree.fromstring(junit_text(suites))
    assert root.tag == "testsuites"
    assert list(beyond_the_schema(root)) == []


def test_reader_finds_every_test_and_how_it_ended() -> None:
    read = JUnitXml.fromstring(junit_text(SUITES).encode())
    assert (read.tests, read.failures, read.errors) == (4, 1, 1)
    pier, broken, nothing = read
    assert (pier.name, pier.tests, pier.failures, pier.errors, pier.skipped) == (
        "pier.study.toml",
        3,
        1,
        0,
        1,
    )
    held, failed, left_out = pier
    assert held.is_passed
    (failure,), (skip,) = failed.result, left_out.result
    assert isinstance(failure, Failure)
    assert isinstance(skip, Skipped)
    assert failure.message == "A2 fails: crate: seen 61 %, needs 80 %."
    assert failure.text.splitlines() == [failure.message, "A2 fails: hop: lies."]
    (error,) = next(iter(broken)).result
    assert isinstance(error, Error)
    assert broken.name == "broken <b>&\"'\\x1b\ufffd"
    assert (nothing.tests, list(nothing)) == (0, [])
