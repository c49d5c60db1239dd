"""How long a pasted note takes to be read, beside general-purpose parts that find the same names in the same run.

The parts are a blank pipeline with sentences, the catalogue's names as phrases, and negspacy: no side, no value, no
history. The ratio is written into the benchmark's extra_info; no time is asserted, since machines differ.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from statistics import median

import spacy
from negspacy.negation import Negex  # noqa: F401 - registers itself
from spacy.matcher import PhraseMatcher
from spacy.tokens import Doc, Span

from letterkit import read
from letterkit.catalogue import catalogue

NOTE = """\
I saw this right handed joiner today with tingling in the right hand.
He denies any injury.
On examination there is mild wasting of the right thenar eminence.
There is no swelling, redness or deformity of either hand.
The wrist is not tender.
There is tenderness over the right first dorsal compartment.
Wrist flexion is 60 degrees on the right and 70 on the left.
Wrist extension is full on both sides.
He makes a full fist with both hands.
Light touch is reduced in the right thumb, index and middle fingers.
Sensation in the little finger is normal.
Two-point discrimination is 8 mm in the right index and 5 mm in the left.
APB is 4/5 on the right and 5/5 on the left.
First dorsal interosseous is 5/5 bilaterally.
Tinel's sign is positive at the right wrist and negative at the elbow.
Phalen's test is positive on the right after 30 seconds and negative on the left.
Durkan's test is positive on the right.
Finkelstein's test is negative on both sides.
Grip is 24 kg on the right and 38 kg on the left.
The radial pulses are present and capillary refill is less than 2 seconds.
"""


def _general_purpose() -> Callable[[str], Doc]:
    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    negex = nlp.add_pipe("negex")
    nlp.disable_pipe("negex")  # it is called once the names are found
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    matcher.add("finding", [nlp.make_doc(term) for term in catalogue().terms])

    def run(text: str) -> Doc:
        doc = nlp(text)
        spans = [Span(doc, start, end, "finding") for _, start, end in matcher(doc)]
        doc.ents = spacy.util.filter_spans(spans)
        return negex(doc)

    return run


def _milliseconds(work: Callable[[], object]) -> float:
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) * 1000


def test_bench_a_note_of_twenty_sentences(benchmark):
    """The figure to hold: at most 8 ms median, warm."""
    peer = _general_purpose()
    assert len(NOTE.splitlines()) == 20
    for _ in range(5):
        peer(NOTE)
        read(NOTE)

    benchmark(lambda: read(NOTE))

    alone = [(_milliseconds(lambda: read(NOTE)), _milliseconds(lambda: peer(NOTE))) for _ in range(20)]
    own, other = (median(times) for times in zip(*alone, strict=True))
    benchmark.extra_info["times of general-purpose parts"] = round(own / other, 1)
