"""What `choose` does: a decision kept in the study that it is about."""

from __future__ import annotations

from pathlib import Path

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.words import decision_words
from stationpoint.cli import tell
from stationpoint.cli.actions.outputs import Outputs
from stationpoint.cli.options import ChooseOptions
from stationpoint.run import chosen_variants, prepare_study
from stationpoint.study import (
    Decision,
    Variant,
    decided,
    read_study,
    read_text,
    study_from_text,
    with_decision,
)

BOM = "\ufeff"


def choose(file: str, variant: str, chosen: ChooseOptions) -> None:
    """Write a decision into a study and say what it was before."""
    path = Path(file)
    said = {"by": chosen["by"] or "", "because": chosen["because"], "on": chosen["on"] or ""}
    for name, words in said.items():
        _check_words(name, words)
    study = read_study(path)
    before = study.decision
    prepared = prepare_study(study.model_copy(update={"decision": None}), path.parent)
    (taken,) = chosen_variants(prepared, (variant,), "choose").variants
    made = Decision(chosen=taken.key, **{name: words.strip() for name, words in said.items()})
    text = read_text(path)
    new = with_decision(text, made.model_dump(), path.name)
    study_from_text(new, path.name, folder=path.parent)
    marked = read_input(path).startswith(BOM.encode())
    outputs = Outputs()
    outputs.rewrite(path, ((BOM if marked else "") + new).encode())
    outputs.deliver(quiet=True)
    tell(f"{path}: chosen is {_words(made, taken)}.")
    if before is not None and before != made:
        was = decided(study, prepared.variants)
        tell(f"It was {_words(before, was)}.")


def _words(decision: Decision, variant: Variant | None) -> str:
    """A decision in words, with label and key of its variant."""
    who = (
        f"{decision.chosen}, which the sweep has not"
        if variant is None
        else f"{variant.label} ({variant.key})"
    )
    return decision_words(who, decision.by, decision.on, decision.because).rstrip(".")


def _check_words(name: str, words: str) -> None:
    """StudyWrong where an option's words are none."""
    try:
        words.encode()
    except UnicodeEncodeError:
        raise StudyWrong(f"--{name}: the words are not text (UTF-8).") from None
    if name == "because" and not words.strip():
        raise StudyWrong("--because is empty; say why this one was taken.")
