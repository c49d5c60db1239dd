"""What sensation is tested with: 'absent to temperature', 'decreased to pinprick and normal to light touch'."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from letterkit.reading.marks import Mark, items_of
from letterkit.reading.phrases import Entry
from letterkit.reading.predication import Predication
from letterkit.reading.reach import ReachReading
from letterkit.reading.words import words

_TO_TOUCH = frozenset({"to light touch", "to touch"})
_PARTS = frozenset({"joiner", "break"})


def felt_otherwise(marks: Sequence[Mark], texts: frozenset[str], phrases: Mapping[str, Entry]) -> Sequence[Mark]:
    """'... reduced to pinprick but normal to light touch': the second result is of touch, and not of the first."""
    if texts.isdisjoint(_TO_TOUCH):
        return marks
    made: list[Mark] = []
    for mark in marks:
        last = made[-1] if made else None
        joined = len(made) > 2 and made[-2].kind in _PARTS  # noqa: PLR2004 - sensation, a joiner, a result
        if mark.text in _TO_TOUCH and joined and last is not None and last.kind == "state":
            term = phrases["light touch"].term
            made.insert(-1, Mark("term", last.start, last.start, term=term, text="light touch"))
        else:
            made.append(mark)
    return made


class FeelingReading(ReachReading):
    """Tells what was felt from the touch that 'sensation' means where nothing else is named."""

    def _is_how_alone(self, mark: Mark, now: Predication, index: int) -> bool:
        """'Sensation is absent to temperature': of what is felt, only that was tested, and not touch."""
        last = now.terms[-1]
        if last.term is None or last.term.state or mark.term is None or self.joiner or self.how:
            return False
        felt = [self.catalogue.items[slug].scale == "sensation" for slug in mark.term.items[:1]]
        general = "light_touch" in last.term.items and "touch" not in last.text
        return (
            general and felt == [True] and "light_touch" not in mark.term.items and self.marks[index - 1].text == "to"
        )

    def _is_felt_too(self, mark: Mark, index: int) -> bool:
        """'Sensation is intact to vibration and joint position': one more that was tested, with the same result."""
        listed = self.joiner in {"comma", "and", "slash"} and not (self.pending.said or self._has_own_result(index))
        own, _ = self._verb_and_result(index, {"filler"})
        felt = [self.catalogue.items[slug].scale == "sensation" for slug in items_of(mark)[:1]]
        return listed and not own and felt == [True]

    def _says_how(self, mark: Mark, now: Predication, index: int) -> bool:
        """'sensation intact to light touch': the second term only says how the first was tested."""
        last = now.terms[-1].term
        assert mark.term is not None
        before = self.marks[index - 1].text if index else ""
        sensory = bool(mark.term.items) and self.catalogue.items[mark.term.items[0]].scale == "sensation"
        after = self.marks[index + 1] if index + 1 < len(self.marks) else None
        led = any(each.text in words().sets["how_felt"] for each in self.marks[max(0, index - 6) : index])
        led = led and (after is None or after.kind not in {"state", "value", "severity"})
        if sensory and (self.how or (led and not now.before)) and self.joiner in {"slash", "comma", "and"}:
            self.how = True
            return True
        self.how = (
            sensory
            and before in {"to", "on", "with", "by", "for"}
            and not self.joiner
            and bool(last is not None and last.items and self.catalogue.items[last.items[0]].scale == "sensation")
        )
        touched = last is not None and ("light_touch" in last.items or "light_touch" in mark.term.items)
        return self.how or (before == "to" and touched and not self.joiner)
