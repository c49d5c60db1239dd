"""Published numbers of the hand and wrist: scores, norms, bands and stages as pure functions.

This room holds one module an instrument, each naming its published source and how far that source was seen
(confirmed, from memory, or common practice). A function takes numbers with their unit in the name and gives a frozen
`Result` that carries the value, the inputs, the arithmetic as text so that it can be redone by hand, the source and
the limits of use. If an item it needs was not recorded it gives `NotComputable`, which lists what is missing and, where
that can be worked out, the range in which the value must lie. A number outside the instrument raises `InvalidValue`.

It must not diagnose, set an urgency, advise, or word a letter; know a patient, a finding or a file; round before it
compares; or fill a gap with a guess. Values are compared at full precision and rounded once, half away from zero, only
to be shown. Large tables stand in `data/`, and the head of each says what its keys mean.
"""

from letterkit.measures.result import Mark, NotComputable, Range, Result, Source, rounded

__all__ = ["Mark", "NotComputable", "Range", "Result", "Source", "rounded"]
