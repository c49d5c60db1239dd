"""spaCy's part of the reading: a blank English pipeline with our tokenizer, our vocabulary and our components.

The components are registered by `register`, called once before the first pipeline is made, not by importing this.
"""

from __future__ import annotations

from bisect import bisect_left
from functools import cache
from itertools import chain, starmap
from operator import attrgetter, itemgetter
from typing import TYPE_CHECKING

from letterkit.reading.making import Span, Tokens, longest, marks_of
from letterkit.reading.marks import Mark
from letterkit.reading.other_digits import by_its_company
from letterkit.reading.segments import segments
from letterkit.reading.spacy_start import start_spacy
from letterkit.reading.spelling import corrected
from letterkit.reading.tokens import NoteTokenizer, split
from letterkit.reading.vocabulary import Vocabulary, shipped_vocabulary

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from spacy.language import Language
    from spacy.tokens import Doc

SEGMENTS = "note_segments"
TERMS = "note_terms"
MARKS = "note_marks"
TOKENIZER = "letterkit.note_tokenizer"
_PHRASE = "phrase"  # what the matcher calls all of them
_QUOTES = frozenset({'"', "“", "”", "„", "‘"})
_LONGEST_TEXT = 50_000_000  # characters


def _unquoted(pieces: list[str], starts: list[int], ends: list[int]) -> tuple[list[str], list[int], list[int]]:
    """The tokens without quotation marks: the "OK" sign is the OK sign."""
    if not _QUOTES.intersection(pieces):
        return pieces, starts, ends
    kept = [index for index, piece in enumerate(pieces) if piece not in _QUOTES]
    return [pieces[at] for at in kept], [starts[at] for at in kept], [ends[at] for at in kept]


def note_segments(doc: Doc) -> Doc:
    """Adds the segments of the note."""
    doc.user_data["segments"] = segments(doc.user_data["text"])
    return doc


class NoteTerms:
    """Adds the phrases of the vocabulary, longest first, and corrects close misspellings of words no phrase claims.

    The matcher is given a phrase once a note has the rarest of its words: a hundred thousand take half a second, and
    a letter has the words of some thousands.
    """

    def __init__(self, nlp: Language, language: str) -> None:
        from spacy.matcher import PhraseMatcher  # noqa: PLC0415 - spaCy is heavy and only needed once a note is read
        from spacy.tokens import Doc  # noqa: PLC0415

        self._doc = Doc
        self._vocab = nlp.vocab
        self.vocabulary: Vocabulary = shipped_vocabulary(language)
        self._matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
        self._waiting = dict(self.vocabulary.by_rarest)  # phrases that the matcher was not given yet
        self._keys = {word: nlp.vocab.strings.add(word) for word in self.vocabulary.parts}
        for word in (*self._keys, _PHRASE):
            nlp.vocab[word]  # known for good: no note has to make it anew, nor does it go when the note has been read

    def _give(self, lowers: Iterable[str]) -> None:
        """Gives the matcher the phrases that these words may be in."""
        for word in self._waiting.keys() & lowers:
            keys = [tuple(map(self._keys.__getitem__, phrase.split(" "))) for phrase in self._waiting.pop(word)]
            self._matcher.add(_PHRASE, keys)  # type: ignore[arg-type]  # keys of words are taken as well as documents

    def __call__(self, doc: Doc) -> Doc:
        pieces, starts, ends = _unquoted(*doc.user_data["pieces"])
        tokens = Tokens(starts, ends, list(map(str.lower, pieces)))
        spans: list[Span] = []
        if pieces:
            words_only = doc if len(doc) == len(pieces) else self._doc(self._vocab, words=pieces)
            self._give(tokens.lowers)
            matches = self._matcher(words_only)
            found = set(map(itemgetter(1, 2), matches))
            single = found.intersection(zip(range(len(pieces)), range(1, len(pieces) + 1), strict=True))
            long = self._unbroken(list(found - single), doc, tokens)
            chosen = longest(self._without_torn(long, tokens))
            inside = set(chain.from_iterable(starmap(range, chosen)))
            known, lowers = self.vocabulary.phrases, tokens.lowers
            said = [" ".join(lowers[start:end]) for start, end in chosen]
            spans = [Span(*pair, known[phrase], phrase) for pair, phrase in zip(chosen, said, strict=True)]
            alone = {start for start, _ in single} - inside
            spans += [Span(at, at + 1, known[word := lowers[at]], word) for at in alone]
            spans += corrected(tokens, inside | alone, self.vocabulary)
            spans.sort(key=attrgetter("start"))
        doc.user_data["tokens"], doc.user_data["spans"] = tokens, spans
        return doc

    def _without_torn(self, long: list[tuple[int, int]], tokens: Tokens) -> list[tuple[int, int]]:
        """'Temperature sensation in the ulnar nerve area' is not 'sensation in the ulnar nerve area': a finding that
        begins with the last word of another gives way to it, however long it is."""
        firsts, lasts = {start for start, _ in long}, {end - 1 for _, end in long}
        if not firsts & lasts:
            return long
        terms = [
            pair
            for pair in long
            if self.vocabulary.phrases[" ".join(tokens.lowers[pair[0] : pair[1]])].term is not None
        ]
        torn = {end - 1 for _, end in terms}
        dropped = {pair for pair in terms if pair[0] in torn}
        return [pair for pair in long if pair not in dropped]

    @staticmethod
    def _unbroken(found: list[tuple[int, int]], doc: Doc, tokens: Tokens) -> list[tuple[int, int]]:
        """Phrases that do not run from one segment into the next: under 'Left wrist' the line 'Extension 60'."""
        parts = doc.user_data["segments"]
        if len(parts) == 1 and parts[0].start == 0 and parts[0].end >= tokens.ends[-1]:
            return found
        borders = {segment.end for segment in parts} | {segment.start for segment in parts}
        firsts = {bisect_left(tokens.starts, border) for border in borders}
        return [(start, end) for start, end in found if firsts.isdisjoint(range(start + 1, end))]


class NoteMarks:
    """Adds the marks of each segment."""

    def __init__(self, terms: NoteTerms) -> None:
        self._terms = terms

    def __call__(self, doc: Doc) -> Doc:
        text = doc.user_data["text"]
        tokens, spans = doc.user_data["tokens"], doc.user_data["spans"]
        marks: list[list[Mark]] = []
        begins = [tokens.starts[span.start] for span in spans]
        line, label = -1, frozenset[str]()  # what the label of the line says: 'Sensory: LT intact. PP reduced.'
        for segment in doc.user_data["segments"]:
            at, stop = bisect_left(begins, segment.start), bisect_left(begins, segment.end)
            before = marks[-1] if marks else ()
            if segment.line != line:
                line, label = segment.line, frozenset()
            own = marks_of(text, segment, tokens, spans[at:stop], self._terms.vocabulary, before, label)
            if segment.label > segment.start:
                label = frozenset([mark.text for mark in own if mark.end <= segment.label])
            marks.append(own)
        if "LF" in text or "L/F" in text:
            by_its_company(marks)
        doc.user_data["marks"] = marks
        return doc


@cache
def register() -> None:
    """Makes the components known to spaCy, once a process."""
    from spacy.language import Language  # noqa: PLC0415 - spaCy is heavy and only needed once a note is read
    from spacy.util import registry  # noqa: PLC0415

    def make_segments(nlp: Language, name: str) -> Callable[[Doc], Doc]:  # noqa: ARG001 - spaCy's protocol
        return note_segments

    def make_terms(nlp: Language, name: str, language: str) -> NoteTerms:  # noqa: ARG001
        return NoteTerms(nlp, language)

    def make_marks(nlp: Language, name: str) -> NoteMarks:  # noqa: ARG001
        terms = nlp.get_pipe(TERMS)
        assert isinstance(terms, NoteTerms)
        return NoteMarks(terms)

    def make_tokenizer() -> Callable[[Language], NoteTokenizer]:
        return lambda nlp: NoteTokenizer(nlp.vocab)

    registry.tokenizers(TOKENIZER, func=make_tokenizer)
    Language.factory(SEGMENTS, func=make_segments)
    Language.factory(TERMS, default_config={"language": "en-GB"}, func=make_terms)
    Language.factory(MARKS, func=make_marks)


@cache
def pipeline(language: str) -> Language:
    """The pipeline for notes in one language, made once a process."""
    start_spacy()
    import spacy  # noqa: PLC0415 - heavy
    from spacy.symbols import LOWER  # type: ignore[import-not-found]  # noqa: PLC0415

    register()
    nlp = spacy.blank("en", config={"nlp": {"tokenizer": {"@tokenizers": TOKENIZER}}})
    nlp.vocab.lex_attr_getters = {LOWER: str.lower}  # type: ignore[attr-defined]  # of a word only its small letters are ever asked for
    nlp.max_length = _LONGEST_TEXT
    nlp.add_pipe(SEGMENTS)
    nlp.add_pipe(TERMS, config={"language": language})
    nlp.add_pipe(MARKS)
    return nlp


__all__ = ["MARKS", "SEGMENTS", "TERMS", "pipeline", "register", "split"]
