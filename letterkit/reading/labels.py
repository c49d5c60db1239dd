"""What a heading, or the label of a line, says of what stands under it: history, plan, a stage of the examination."""

from __future__ import annotations

import re
from collections.abc import Sequence

from letterkit.reading.begun_before import is_seen_there
from letterkit.reading.marks import Mark
from letterkit.reading.segments import Segment
from letterkit.reading.words import words

_IMAGES = re.compile(
    r"(?:x-?rays?|xrs?|mri|mra|ct|uss?|ultrasound|(?:plain )?radiographs?|plain films?|emg|ncs|nerve conduction)\b"
)
_EXAMINATION_BEGINS = re.compile(r"(?:physical|exam|o/e|oe$|pe$|objective|on examination|clinical exam|today)")
_ANGLE_ALONE = re.compile(r"\W*\d{1,3}(?!\+)(?:\W*(?:to\b|deg\w*|°|\d{1,3}))*\W*$")
_LONGEST_LABEL = 6  # words of a label that is known by one of them
_LONGEST_BARE = 24  # characters of a heading without a colon
_REASON = "reason"
_REVIEW = re.compile(r"(?:ros\b|review of systems\b)")


def label_of(text: str, segment: Segment) -> str:
    """The words of a heading, or of what stands before the colon of a line; empty where there are none."""
    if not (segment.heading or segment.label > segment.start):
        return _bare(text, segment)
    raw = text[segment.start : segment.end] if segment.heading else text[segment.start : segment.label]
    label = " ".join(raw.strip(" \t:-–—=_*#|•.").casefold().split())
    angle = label == "ext" and _ANGLE_ALONE.match(text, segment.label, segment.end)
    return "extension" if angle else label  # 'Ext: 60' and no 'Ext: 2+ oedema'


def _bare(text: str, segment: Segment) -> str:
    """A heading that stands on a line of its own without a colon: 'HPC', and under it what was told."""
    if segment.end - segment.start > _LONGEST_BARE or text[segment.end : segment.end + 1] not in {"\n", "\r"}:
        return ""
    line = text[segment.start : segment.end].casefold()
    begins = text[: segment.start].rstrip(" \t")[-1:] in {"", "\n", "\r"}
    return line if begins and line in words().sets["bare_headings"] else ""


def _section(label: str) -> str:
    if not label:
        return ""
    for form in (
        label,
        label.removesuffix(" examination"),
        label.removesuffix(" exam"),
        label.removesuffix(" findings"),
    ):
        if form in words().sections:
            return words().sections[form]
    if label.startswith(words().affixes["examines"]):
        return "examination"
    if _REVIEW.match(label):
        return "history"  # 'ROS MSK: ...'
    if _IMAGES.match(label):
        return "imaging"  # 'X-ray of the left wrist: ...'
    if label.startswith(("history of", "past ", "previous ")):
        return "history"
    return ""


def section_by_word(label: str) -> str:
    """What a label says by one of its words: 'night staff note', 'OT goals', 'prev clinic (Feb)'; empty for nothing."""
    parts = re.findall(r"[\w/'-]+", label.partition("(")[0])
    if not parts or len(parts) > _LONGEST_LABEL:
        return ""
    labels = words().labels
    found = [labels[part] for part in parts if part in labels]
    return "examination" if "examination" in found and "earlier" not in found else found[0] if found else ""


def headed(
    label: str, first_examined: int | None, marks: Sequence[Sequence[Mark]], *, first: bool
) -> tuple[str, str | None, str]:  # fmt: skip
    """What a label heads: a section, a stage of the examination, or by one word a section for this line alone.

    `marks` are those of the note, and `first` tells whether the label begins it.
    """
    known = words()
    kind = _section(label)
    staged = known.stages.get(label) or known.stages.get(label.removesuffix(" examination").removesuffix(" exam"))
    by_word = section_by_word(label) if label and not (kind or staged) else ""
    by_word = "history" if label in known.sets["told_of"] and not (kind or staged) else by_word
    if by_word == "earlier" and first_examined is None and label.endswith(known.affixes["before_operation"]):
        by_word = ""  # 'Pre-op assessment: ...' heads the note
    if kind == "plan" and first_examined is None and label in known.sets["named_first"]:
        kind, by_word = "", "plan"  # 'Dx: trigger finger', and on the next line what was found
    if first and label.endswith(tuple(known.sets["visits"])) and not _is_examined(marks):
        kind, by_word = "", ""  # 'FOLLOW-UP VISIT: The left wrist is swollen.'
    return kind, staged, by_word


def _is_examined(marks: Sequence[Sequence[Mark]]) -> bool:
    """Whether some word of the note says that an examination begins."""
    moments = words().sets["moments"] | {"today"}
    return any("examined" in mark.says and mark.text not in moments for own in marks for mark in own)


def asked_for(label: str) -> str:
    """The heading of no more than why somebody was sent, or what somebody complains of; empty for any other."""
    asks = label.startswith(_REASON) or label in words().sets["complaint_headings"]
    return label if asks else ""


def may_end(asked: str, label: str) -> bool:
    """'Reason for consultation' may end at any test; 'Complaints' at one with a label: 'Spurling: positive'."""
    return bool(asked) and (bool(label) or asked.startswith(_REASON))


def goes_on_reviewing(text: str, reviewing: str, label: str, segment: Segment, above: str) -> str:
    """Whether a line is of a review of systems, whose parts are headed as those of an examination are.

    'ROS:' and under it 'MSK: no joint swelling' is what the patient said; 'Physical exam:' or a blank line ends it.
    Where the review tells all in its own line ('told'), 'EXTREMITIES: the palms are red' below heads an examination:
    that is a part, and no system that a review would list.
    """
    if _REVIEW.match(label):
        told = text[segment.label : segment.end].strip()
        return "listed" if segment.heading or not told or ":" in told else "told"
    ends = bool(_EXAMINATION_BEGINS.match(label))  # and not 'MSK', which heads a part of either
    ends = ends or (reviewing == "told" and label in words().sets["parts_headed"])
    if not reviewing or ends or (segment.breaks and not _REVIEW.match(above)):
        return ""
    return "listed" if label else reviewing


def is_told_below(segment: Segment, above: int, marks: Sequence[Mark]) -> bool:
    """'Reason for consultation: lump.' and on the next line 'There is a mass of the wrist', which was found.

    `above` is the line before; what the patient only feels may still be why she came.
    """
    if segment.line == above or segment.label > segment.start or not is_seen_there(marks):
        return False
    return any(mark.text in words().sets["found_there"] for mark in marks)
