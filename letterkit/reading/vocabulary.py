"""Every phrase the reader knows, made from the catalogue and from the words of the note, with what it may mean."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cache, lru_cache
from itertools import chain

from letterkit.catalogue import Catalogue, catalogue
from letterkit.catalogue.model import Item, ValueKind
from letterkit.catalogue.traps import Traps, traps
from letterkit.kept import kept
from letterkit.reading.phrases import Builder, Entry, StateWord, Term
from letterkit.reading.placenames import Piece, pieces, sided
from letterkit.reading.places import DIGITS
from letterkit.reading.words import Words, words

_PAIRS = (
    " hands",
    " wrists",
    " arms",
    " elbows",
    " thumbs",
    " palms",
    " limbs",
    " extremities",
)
_WEAKNESS = (" weakness", " paresis")
_ENDINGS = (" test", " sign", "'s test", "'s sign", " manoeuvre")


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Phrases (lower-case tokens joined by one space) with their meanings, and the words they are made of."""

    phrases: Mapping[str, Entry]
    clinical: frozenset[str]  # single words of the catalogue's terms
    correctable: tuple[str, ...]  # words a misspelling may be corrected into
    plain: frozenset[str]  # everyday words, never corrected
    by_shape: Mapping[tuple[str, int], tuple[str, ...]] = field(default_factory=dict)  # by first letter and length
    by_rarest: Mapping[str, tuple[str, ...]] = field(default_factory=dict)  # phrases by the rarest of their words
    parts: frozenset[str] = frozenset()  # all words of phrases


def _plural(phrase: str) -> str | None:
    last = phrase.rsplit(" ", 1)[-1]
    if not last.isalpha() or last.endswith("s") or len(last) < 3:  # noqa: PLR2004 - 'MC', 'PP' take no plural
        return None
    if last.endswith("y"):
        return f"{phrase[:-1]}ies"
    return f"{phrase}es" if last.endswith("x") else f"{phrase}s"


def _names(item: Item) -> Iterator[str]:
    wording = item.doctor
    for name in (item.name, item.us_name, *item.synonyms, wording.noun, wording.plural, wording.subject):
        if name:
            yield name.removeprefix("the ")


def _implied(item: Item, phrase: str, catalogue: Catalogue) -> str:
    """The state a name says by itself, such as 'compartments soft'."""
    if item.scale is None or phrase.casefold() == item.name.casefold():
        return ""
    padded = f" {phrase.casefold()} "
    for state in catalogue.scales[item.scale].states:
        for word in (state.slug.replace("_", " "), *state.aliases):
            if len(word) > 3 and f" {word.casefold()} " in padded:  # noqa: PLR2004 - not 'N' or 'no'
                return state.slug
    return ""


def _families(catalogue: Catalogue) -> dict[str, tuple[str, ...]]:
    """Nouns and subjects that several items share."""
    shared: dict[str, list[str]] = {}
    for item in catalogue.items.values():
        noun = (item.doctor.noun or item.doctor.subject or "").removeprefix("the ")
        shared.setdefault(noun, []).append(item.slug)
    return {noun: tuple(slugs) for noun, slugs in shared.items() if len(slugs) > 1}


def _add_items(builder: Builder, words: Words, catalogue: Catalogue) -> None:
    families, adjectives = _families(catalogue), words.affixes["adjectives"]
    rows = tuple({f" of the {name}" for row in catalogue.rows.values() for name in (row.name, row.plural)})
    apart = {f"{word} of the {site.name}" for word in ("wasting", "atrophy") for site in catalogue.plain_sites.values()}
    for item in catalogue.items.values():
        known = {word.casefold() for word in (item.name, item.us_name or "", *item.synonyms)}
        known |= {several for word in known if (several := _plural(word))} | {f"{word}es" for word in known}
        for name in _names(item):
            if (item.sites and name.endswith(rows)) or name in apart:
                continue  # the words before and the place are read apart
            members = families.get(name, (item.slug,))
            if len(members) > 1:
                members = (item.slug, *(slug for slug in members if slug != item.slug))
            owner = catalogue.terms.get(name.casefold())
            if owner and owner != item.slug:
                builder.second(name, item.slug)
                continue
            spoken = name.casefold() not in known
            plural_words = name.casefold() == (item.doctor.plural or "").casefold()
            term = Term(
                members, _implied(item, name, catalogue), name.endswith(adjectives), plural=plural_words,
                strict=spoken and bool(item.sites) and item.doctor.place.value != "side",
                head=name.rsplit(" ", 1)[-1].casefold(),
                site=item.sites[0] if len(item.sites) == 1 and item.scale == "sensation" and not spoken else "",
                side="both" if name.endswith(_PAIRS) else "", stays=name.casefold().startswith(words.affixes["named"]),
            )  # fmt: skip
            builder.add(name, term=term)
            for form in _forms(name, item):
                weak = "reduced" if form.endswith(_WEAKNESS) else ""
                builder.add(
                    form,
                    term=_also(term, adjective=form.endswith(adjectives), plural=plural_words, state=weak),
                )
            eponym = item.value is ValueKind.TEST and name[0].isupper() and " " not in name  # "Hoffmann's" is no plural
            if not eponym and (several := _plural(name)) and item.value is not ValueKind.TEXT:
                builder.add(several, term=_also(term, adjective=term.adjective, plural=True))
        for name in item.ambiguous:
            builder.add(name, ambiguous=f"{name} has more than one meaning")


def _also(term: Term, *, adjective: bool, plural: bool, state: str = "") -> Term:
    """The same term in another form; `replace` takes five times as long, and there are thousands."""
    return Term(
        term.items, state or term.state, adjective, plural, term.pain, term.every, term.near, term.look, term.strict,
        term.head, term.beside, term.site, term.stays,
    )  # fmt: skip


def _forms(name: str, item: Item) -> Iterator[str]:
    """Other usual orders and endings of a name."""
    if item.value is ValueKind.TEST:
        for ending in _ENDINGS:
            if name.endswith(ending):
                base = name[: -len(ending)] + ("'s" if ending.startswith("'s") else "")
                yield from (f"{base} test", f"{base} sign", f"{base} maneuver", f"{base} manoeuvre", f"{base} signs")
                yield from (f"{base} tests", f"{base} testing")
                if base.endswith("'s"):
                    yield base
    elif name.endswith(" wasting"):
        base = name.removesuffix(" wasting")
        yield from (f"{base} wasted", f"wasted {base}", f"{base} atrophy")
    elif name.endswith(" tenderness"):
        base = name.removesuffix(" tenderness")
        yield from (f"{base} tender", f"tender {base}")
    elif item.value is ValueKind.MRC:
        yield from _powers(name.removesuffix(" power").removesuffix(" strength"), known=name)


def _powers(base: str, *, known: str) -> Iterator[str]:
    """The power of a muscle or movement in its usual words: 'biceps muscle strength', 'grip weakness'."""
    for kind in ("power", "strength", "muscle power", "muscle strength", "weakness", "muscle weakness", "paresis"):
        if f"{base} {kind}" != known:
            yield f"{base} {kind}"


def _add_senses(builder: Builder, words: Words, catalogue: Catalogue) -> None:
    families, adjectives = _families(catalogue), words.affixes["adjectives"]
    for sense in words.senses:
        items = families.get("sensation", sense.items) if sense.items == ("light_touch",) else sense.items
        ordered = (*sense.items, *(slug for slug in items if slug not in sense.items))
        terms: dict[tuple[bool, str, str], Term] = {}  # a pattern may stand for thousands of phrases
        for phrase in sense.words:
            exact = [form for form in sense.exact if form.casefold() == phrase]
            adjective, head = phrase.endswith(adjectives), phrase.rsplit(" ", 1)[-1]
            side = "both" if phrase.endswith(_PAIRS) else sense.side
            term = terms.get((adjective, head, side))
            if term is None:
                term = Term(ordered, sense.state, adjective, every=sense.every, look=sense.look, head=head, side=side)
                terms[adjective, head, side] = term
            builder.force(phrase, term, exact)
    for family in words.families:
        noun = family.get("of", family["noun"])
        members = families.get(noun, ())
        default = catalogue.terms.get(noun, members[0])
        ordered = (default, *(slug for slug in members if slug != default)) if default in members else members
        if noun == "sensation":
            ordered = ("light_touch", *(slug for slug in members if slug != "light_touch"))
        for phrase in family["words"]:
            head = phrase.rsplit(" ", 1)[-1]
            builder.force(phrase, Term(ordered, family.get("state", ""), phrase.endswith(adjectives), head=head))
    for loose in words.loose:
        for phrase in loose["words"]:
            plural = phrase.endswith("s") and not phrase.endswith(("ss", "us", "is", " fingers", " digits"))
            plural = plural and not loose.get("all", False) and loose.get("sides", True)  # two signs, and not two sides
            plural = plural and not phrase.casefold().endswith(words.affixes["muscles"])
            term = Term(
                tuple(loose["items"]), loose.get("state", ""), near=tuple(loose.get("near", ())),
                every=loose.get("all", False), look=loose.get("look", ""), plural=plural,
                adjective=phrase.endswith(adjectives), head=phrase.rsplit(" ", 1)[-1], site=loose.get("at", ""),
                beside=tuple(loose.get("beside", ())), side="both" if phrase.endswith(_PAIRS) else "",
                stays=loose.get("stays", False),
            )  # fmt: skip
            builder.force(phrase, term)
            if catalogue.items[loose["items"][0]].value is ValueKind.MRC and not (plural or term.beside or term.every):
                _add_powers(builder, phrase, term)
    for pain in words.pains:
        for phrase in pain["words"]:
            builder.force(phrase, Term((pain["item"],), pain=True, adjective=phrase == "painful", head=phrase))


def _add_powers(builder: Builder, phrase: str, term: Term) -> None:
    """'Elbow flexor strength', 'thumb abduction weakness': words that may be another's are left to that one."""
    for form in _powers(phrase.removesuffix(" power").removesuffix(" strength"), known=phrase):
        weak = "reduced" if form.endswith(_WEAKNESS) else ""
        builder.add(form, term=replace(term, state=weak, head=form.rsplit(" ", 1)[-1]))


def _add_states(builder: Builder, words: Words, catalogue: Catalogue) -> None:
    for scale in catalogue.scales.values():
        for state in scale.states:
            for phrase in (state.slug.replace("_", " "), state.doctor, *state.aliases):
                if (
                    len(phrase) > 1
                    and not phrase[0].isdigit()
                    and phrase not in {"one", "two"}
                    and not phrase.startswith("no ")
                ):
                    builder.add(phrase, state=StateWord(scales={scale.slug: state.slug}))
    _add_scaled(builder, words)
    for item in catalogue.items.values():
        for slug, phrase in item.doctor.states.items():
            if item.scale:
                builder.add(phrase, state=StateWord(items={item.slug: slug}))
        for kind in ("positive", "negative", "equivocal"):
            if phrase := getattr(item.doctor, kind):
                builder.add(phrase.removeprefix("was ").removeprefix("were "), state=StateWord(items={item.slug: kind}))
    for name, phrases in words.states.items():
        for phrase in phrases:
            builder.add(phrase, state=StateWord((name,)))


def _add_own(builder: Builder, words: Words) -> None:
    """Words of result that mean a state of some items alone: 'the ulcer has healed'."""
    for own in words.own:
        for phrase in own["words"]:
            builder.add(phrase, state=StateWord(items=dict.fromkeys(own["items"], own["state"])))


def _add_scaled(builder: Builder, words: Words) -> None:
    """Words that mean a state in one scale only: 'overshoots', of coordination."""
    for name, told in words.scaled.items():
        for slug, phrases in told.items():
            for phrase in phrases:
                builder.add(phrase, state=StateWord(scales={name: slug}))


def _neurovascular() -> Iterator[str]:
    """'Neurovascular examination is normal' in its usual words."""
    for subject in ("neurovascular", "neuro-vascular", "nv"):
        for noun in ("status", "examination", "exam", "function"):
            for verb in ("", " is", " was", " remained"):
                for result in ("intact", "normal", "preserved", "unremarkable"):
                    yield f"{subject} {noun}{verb} {result}"
    for result in ("intact", "normal"):
        yield from (f"{result} neurovascular {noun}" for noun in ("status", "examination", "exam", "function"))


def _add_statements(builder: Builder, traps: Traps) -> None:
    """Statements that cover a whole stage."""
    for phrase in _neurovascular():
        builder.add(phrase, cue="global:neurovascular")
    for statement in traps.statements:
        for phrase in statement.terms:
            if statement.asserts.startswith("normal, for"):
                builder.add(phrase, cue="global:heading")
            elif statement.asserts.startswith("perfusion, gross"):
                builder.add(phrase, cue="global:neurovascular")


def _add_cues(builder: Builder, words: Words, traps: Traps) -> None:
    """Function words, words of time and person, statements that cover much, and short forms never read."""
    for name, phrases in words.lists.items():
        for phrase in phrases:
            builder.add(phrase, cue=name)
    for name, phrases in words.currency.items():
        for phrase in phrases:
            builder.add(phrase, cue=f"say:{name}")
    _add_statements(builder, traps)
    for trap in traps.traps:
        if trap.action == "unread":
            builder.add(trap.term, ambiguous=trap.question())
    for phrase in words.lists["instrument"]:
        if phrase in builder.entries:
            builder.entries[phrase] = Entry(cues=("filler",))


def _add_places(builder: Builder, words: Words) -> None:
    """Names of places besides the catalogue's, with the side inside them: 'radial aspect of the right wrist'."""
    for place in words.places:
        slugs, look = tuple(place["sites"]), place.get("look", "")
        for phrase in place["words"]:
            kind = "site" if len(slugs) == 1 else "digits" if set(slugs) <= set(DIGITS) else "sites"
            builder.add(phrase, piece=Piece(kind, slugs, plural=place.get("plural", False), look=look))
            for form, piece in sided(phrase, slugs[0]) if kind != "digits" else ():
                builder.add(form, piece=replace(piece, look=look))


def _indexed(builder: Builder, words: Words, traps: Traps) -> Vocabulary:
    """The vocabulary with its single words: clinical, everyday, and those a misspelling may be corrected into."""
    plain = words.plain | {word for phrase in words.lists["filler"] for word in phrase.split()}
    of_terms: set[str] = set()
    for phrase, entry in builder.entries.items():
        if entry.term or entry.piece or entry.ambiguous:
            of_terms.update(phrase.split(" "))
    clinical = {word for word in of_terms if len(word) > 3 and word.isalpha()} - plain  # noqa: PLR2004 - short words are everyday words too
    protected = {form.casefold() for pair in traps.look_alikes for form in pair.terms}
    correctable = tuple(sorted(word for word in clinical if len(word) > 6 and word not in protected))  # noqa: PLR2004
    shapes: dict[tuple[str, int], list[str]] = {}
    for word in correctable:
        shapes.setdefault((word[0], len(word)), []).append(word)
    return Vocabulary(
        _shared(builder.entries), frozenset(clinical), correctable, frozenset(plain),
        {shape: tuple(members) for shape, members in shapes.items()}, _by_rarest(builder.entries),
        frozenset(chain.from_iterable(phrase.split(" ") for phrase in builder.entries)),
    )  # fmt: skip


def _shared(entries: Mapping[str, Entry]) -> dict[str, Entry]:
    """The entries, those that mean the same as one: a tenth of them, to keep and to load again."""
    known: dict[str, Entry] = {}
    return {phrase: known.setdefault(repr(entry), entry) for phrase, entry in entries.items()}


def _by_rarest(phrases: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Phrases by the word of theirs that the fewest phrases have: a text without that word has none of them."""
    told = [(phrase, phrase.split(" ")) for phrase in phrases]
    count = Counter(chain.from_iterable(parts for _, parts in told))
    found: dict[str, list[str]] = {}
    for phrase, parts in told:
        found.setdefault(min(parts, key=count.__getitem__), []).append(phrase)
    return {word: tuple(those) for word, those in found.items()}


@lru_cache(maxsize=4)
def vocabulary(catalogue: Catalogue, traps: Traps, words: Words, language: str) -> Vocabulary:
    """The vocabulary of one catalogue in one language: `en-GB` or `en-US`, which settles 'LF'."""
    builder = Builder(((pair.british, pair.american) for pair in traps.spellings), words.abbreviations)
    _add_items(builder, words, catalogue)
    _add_senses(builder, words, catalogue)
    _add_states(builder, words, catalogue)
    _add_own(builder, words)
    for phrase, piece in pieces(catalogue, language):
        builder.add(phrase, piece=piece)
    _add_places(builder, words)
    for phrase in words.elsewhere:
        builder.add(phrase, piece=Piece("elsewhere", ()))
    for phrase in words.foreign:
        builder.add(phrase, term=Term((), head=phrase.rsplit(" ", 1)[-1]))
    _add_cues(builder, words, traps)
    return _indexed(builder, words, traps)


@cache
def shipped_vocabulary(language: str) -> Vocabulary:
    """The vocabulary of the catalogue and the words that ship with the package, loaded once a process."""
    return kept(
        f"vocabulary-{language}", ("letterkit.catalogue", "letterkit.reading"),
        lambda: vocabulary(catalogue(), traps(), words(), language),
    )  # fmt: skip
