"""What `choose` does: a decision, and the notes of reviews, kept in the study that they are about."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from stationpoint.base.errors import StudyWrong
from stationpoint.base.inputs import read_input
from stationpoint.base.words import counted, decision_words, listed
from stationpoint.cli import tell
from stationpoint.cli.actions.outputs import Outputs
from stationpoint.cli.options import ChooseOptions
from stationpoint.run import Prepared, chosen_variants, prepare_study
from stationpoint.study import (
    Decision,
    Review,
    Study,
    Variant,
    decided,
    merge_notes,
    read_review,
    read_study,
    read_text,
    study_from_text,
    unknown_keys,
    with_decision,
    with_notes,
)

BOM = "\ufeff"


@dataclass(frozen=True, slots=True)
class Named:
    """A review and the name of its file."""

    name: str
    review: Review


def choose(file: str, variant: str | None, chosen: ChooseOptions) -> None:
    """Write a decision and notes into a study and say what was before."""
    path = Path(file)
    said = {"by": chosen["by"] or "", "because": chosen["because"] or "", "on": chosen["on"] or ""}
    for name, words in said.items():
        _check_words(name, words, variant is not None)
    reviews = [Named(Path(one).name, read_review(Path(one))) for one in chosen["reviews"]]
    study = read_study(path)
    before = study.decision
    prepared = prepare_study(study.model_copy(update={"decision": None, "note": ()}), path.parent)
    if variant is not None:
        (taken,) = chosen_variants(prepared, (variant,), "choose").variants
        made: Decision | None = Decision(
            chosen=taken.key, **{name: words.strip() for name, words in said.items()}
        )
    else:
        made = _agreed(before, reviews, prepared, path)
    text = new = read_text(path)
    if made is not None and (variant is not None or made != before):
        new = with_decision(new, made.model_dump(), path.name)
    merged = merge_notes(study.note, [one.review for one in reviews])
    if merged.added or merged.replaced:
        new = with_notes(new, merged, path.name)
    written = study_from_text(new, path.name, folder=path.parent)
    if new != text:
        marked = read_input(path).startswith(BOM.encode())
        outputs = Outputs()
        outputs.rewrite(path, ((BOM if marked else "") + new).encode())
        outputs.deliver(quiet=True)
    if made is not None and (variant is not None or made != before):
        tell(f"{path}: chosen is {_words(made, decided(written, prepared.variants))}.")
        if before is not None and before != made:
            tell(f"It was {_words(before, decided(study, prepared.variants))}.")
    if reviews:
        parts = [f"{counted(len(merged.added), 'note')} added"] if merged.added else []
        parts += [f"{len(merged.replaced)} replaced"] if merged.replaced else []
        tell(f"{path}: {listed(parts) or 'no note is new'}.")
        for old, _ in merged.replaced:
            tell(f"{old.by} noted before on {_label(old.variant, prepared.variants)}: {old.text}")
        undecided = written.model_copy(update={"decision": None})
        tell(*unknown_keys(undecided, prepared.variants))


def _agreed(
    before: Decision | None, reviews: Sequence[Named], prepared: Prepared, path: Path
) -> Decision | None:
    """The decision that a study and reviews agree on; None where none says any. Raises StudyWrong where two
    would take different ones, or one that the sweep has not."""
    each = [(one.name, one.review.decision) for one in reviews if one.review.decision is not None]
    for name, made in each:
        if decided(_deciding(prepared.study, made), prepared.variants) is None:
            raise StudyWrong(
                f'{name}: no variant of the sweep has the key "{made.chosen}", so it cannot be chosen; '
                "draw the page of this study again."
            )
    found = [(path.name, before), *each] if before is not None else each
    if not found:
        return None
    first_name, first = found[0]
    for name, made in found[1:]:
        if made.chosen != first.chosen:
            one, other = (_label(d.chosen, prepared.variants) + _signed(d) for d in (first, made))
            raise StudyWrong(
                f"{first_name} has chosen {one}, and {name} has chosen {other}; agree on one and name it: "
                f"stationpoint choose {path} VARIANT --because WORDS --from {name}"
            )
    return first


def _deciding(study: Study, made: Decision) -> Study:
    return study.model_copy(update={"decision": made})


def _signed(made: Decision) -> str:
    return f" (by {made.by})" if made.by else ""


def _label(key: str, variants: Sequence[Variant]) -> str:
    return next((one.label for one in variants if one.key == key), key)


def _words(decision: Decision, variant: Variant | None) -> str:
    """A decision in words, with label and key of its variant."""
    who = (
        f"{decision.chosen}, which the sweep has not"
        if variant is None
        else f"{variant.label} ({variant.key})"
    )
    return decision_words(who, decision.by, decision.on, decision.because).rstrip(".")


def _check_words(name: str, words: str, is_named: bool) -> None:
    """StudyWrong where an option's words are none. is_named: whether a variant is, which takes a reason."""
    try:
        words.encode()
    except UnicodeEncodeError:
        raise StudyWrong(f"--{name}: the words are not text (UTF-8).") from None
    if name == "because" and is_named and not words.strip():
        raise StudyWrong("--because is empty; say why this one was taken.")
