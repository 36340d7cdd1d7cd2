"""A short summary in Markdown, for a comment under a change: CommonMark and tables."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

from stationpoint.base.words import TOOL, counted, visible

MARK = f"<!-- {TOOL} -->"  # by which a summary is known as ours; no reader shows it
MOST_LINES = 20  # of one summary
MARKUP = re.compile(r"[`*_{}\[\]<#|~&@$]|\\(?![-+=.)>])|:(?=//)|(?<=www)\.")
START = re.compile(r"^(\d*)([-+=.)>])")  # what begins a list or a line under a heading


class Summary(NamedTuple):
    """One judged study, or one comparison. head: what it is; says: the answer; lines: what is to be known."""

    head: str
    says: str
    lines: tuple[str, ...] = ()


def markdown_text(summaries: Sequence[Summary]) -> str:
    """Each summary as a heading, a sentence and a list, cut after MOST_LINES."""
    blocks = [MARK]
    for one in summaries:
        blocks += [f"### {_safe(one.head)}", f"**{_safe(one.says)}**"]
        rest = len(one.lines) - MOST_LINES
        lines = [_safe(line) for line in one.lines[:MOST_LINES]]
        lines += [f"and {counted(rest, 'more line')}"] if rest > 0 else []
        if lines:
            blocks.append("\n".join(f"- {line}" for line in lines))
    return "\n\n".join(blocks) + "\n"


def _safe(words: str) -> str:
    """Words in which nothing is markup, a link or a call to somebody."""
    shown = START.sub(r"\1\\\2", visible(words).strip())
    return MARKUP.sub(_escaped, shown)


def _escaped(found: re.Match[str]) -> str:
    letter = found.group()
    if letter == "@":  # a comment after it keeps it from calling whoever is named so
        return "@<!-- -->"
    return f"&#{ord(letter)};" if letter in "<&:." else f"\\{letter}"
