"""How well notes are read: the reader and a plain baseline on the labelled corpus, where present, in one run.

The corpus holds text under others' licences and is no part of the project; without it the report says so and ends.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
import tempfile
import time
import tomllib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from letterkit.catalogue import catalogue
from letterkit.catalogue.model import Item, ValueKind
from letterkit.reading.read import read
from letterkit.reading.result import ReadFinding, Reading

ROOT = Path(__file__).resolve().parent.parent
CORPUS = Path("../shared/corpus")  # the labelled corpus, where present; relative to the root of the repository
CONCEPTS = ROOT / "tests" / "reading" / "concepts.toml"
_REFERENCE = (
    "For orientation, on other text: NegEx (Chapman 2001, J Biomed Inform 34:301) told negated findings in 1,000 "
    "sentences of discharge summaries with sensitivity 77.8 %, positive predictive value 84.5 % and specificity 94.5 %."
)
_MODALITIES = frozenset({
    "light_touch", "pinprick_sensation", "vibration_sense", "joint_position_sense", "temperature_sensation",
})  # fmt: skip
_OUTSIDE = frozenset({"neck_movement", "neck_rotation", "axillary_nodes"})  # no part of what is labelled
_NEUROVASCULAR = "neurovascular_status"  # what the labels count as one, and the record as two
_NERVES_AND_VESSELS = re.compile(r"neuro-?\s?vascular|\bd?n/?v", re.IGNORECASE)
_OTHERS = re.compile(r"\b(?:other|remaining|rest of the) (?:fingers|digits)\b", re.IGNORECASE)
_SIDE_NAMES: dict[str | None, str] = {None: "unspecified"}


def corpus_folder() -> Path | None:
    """The folder of the labelled corpus: `LETTERKIT_CORPUS`, or the one beside the repository; None without one."""
    given = os.environ.get("LETTERKIT_CORPUS")
    folder = Path(given) if given else ROOT / CORPUS
    return folder if (folder / "score.py").is_file() else None


def rows(folder: Path) -> list[dict[str, Any]]:
    """The labelled snippets of the corpus."""
    text = (folder / "exam_text_dev.jsonl").read_text(encoding="utf-8")
    return [json.loads(line) for line in text.splitlines() if line.strip()]


def labelled(reading: Reading, concepts: dict[str, Any], *, certain_only: bool = False) -> Iterator[dict[str, Any]]:
    """A reading in the form of the corpus's labels, one entry a site."""
    known = catalogue()
    for finding in _counted(reading):
        if (certain_only and finding.sure != "certain") or finding.item in _OUTSIDE:
            continue
        item = known.items["neurological_status" if finding.item == _NEUROVASCULAR else finding.item]
        name = concepts["concept"].get(finding.item, item.name)
        if finding.item == "dorsal_interossei_power" and "interosse" in reading.quote(finding).casefold():
            name = "dorsal interosseous power"
        if finding.item == "composite_fist" and "fist" not in reading.quote(finding).casefold():
            name = "finger flexion"
        same = "light_touch" if item.scale == "sensation" else finding.item
        special = concepts["states"].get(same, {}).get(finding.state)
        special = _by_words(concepts, same, reading.quote(finding), finding.state) or special
        name, state = special or (name, _state(finding, item))
        value = reading.figures(finding) or _value_text(finding, item.value)
        places = _places(finding, reading.quote(finding)) or [finding.words or concepts["site"].get(finding.item, "")]
        region = finding.item == "regional_examination"
        moved = _movements(finding, _clause(reading, finding)) if name == "range of movement" else {}
        if placed := concepts["placed"].get(finding.item):
            moved = {known.sites[site].name: [placed.get(site, name)] for site in finding.sites}
        for told, place in [(each, site) for site in places for each in moved.get(site) or [name]]:
            yield {
                "concept": f"{place.removesuffix('s')} examination" if region else told,
                "side": _SIDE_NAMES.get(finding.side, finding.side), "site": place, "state": state, "value": value,
                "quote": reading.quote(finding), "sure": finding.sure,
            }  # fmt: skip
    for stage in reading.normal:
        if name := concepts["stage"].get(str(stage.record["stage"])):
            side = stage.record.get("side") or "unspecified"
            yield {
                "concept": name,
                "side": side,
                "site": "",
                "state": "normal",
                "value": "",
                "quote": reading.quote(stage),
            }


def _by_words(concepts: dict[str, Any], slug: str, quote: str, state: str) -> tuple[str, str] | None:
    """The label's name and state where the note's own words decide: 'no tingling' is of tingling, not of touch."""
    for rule in concepts["quoted"]:
        told = re.search(rule["words"], quote, re.IGNORECASE) and slug in rule["items"]
        if told and state in rule["states"]:
            return rule["concept"], rule["states"][state]
    return None


def _state(finding: ReadFinding, item: Item) -> str:
    """The label's word for the state of a finding."""
    if finding.state == "graded":
        state = "normal" if finding.value == "5" else "reduced"
    elif item.scale:
        scale = catalogue().scales[item.scale]
        polarity = next((each.polarity.value for each in scale.states if each.slug == finding.state), "noted")
        state = {"normal": "normal", "noted": "normal" if finding.state == "brisk" else "value"}.get(
            polarity, "reduced"
        )
    elif item.value is ValueKind.QUANTITY:
        state = _judged(finding.value, finding.item)
    else:
        state = {"measured": "value", "equivocal": "present"}.get(finding.state, finding.state)
    note = str(finding.qualifiers.get("note", ""))
    return "value" if note in {"grade 1", "grade 1+", "grade 3", "grade 3+"} else state  # not judged by the text


def _counted(reading: Reading) -> Iterator[ReadFinding]:
    """Findings as the labels count them: one statement that sensation is normal in several ways is one finding."""
    told: set[tuple[object, ...]] = set()
    for finding in reading.findings:
        begin = max(reading.text.rfind(mark, 0, finding.start + 1) for mark in (". ", "\n", "; "))
        sentence = reading.text[max(begin, 0) : finding.end].casefold()
        if finding.item in _MODALITIES and finding.state == "normal" and "sens" in sentence:
            key = (finding.side, finding.sites, begin)
            if key in told:
                continue
            told.add(key)
        both = {"neurological_status", "vascular_status"}
        if finding.item in both and _NERVES_AND_VESSELS.search(reading.quote(finding)):
            if finding.item == "vascular_status":
                continue
            yield replace(finding, item=_NEUROVASCULAR)
            continue
        yield finding


def _clause(reading: Reading, finding: ReadFinding) -> str:
    """The words of a finding with those up to the end of its clause, or to the next finding."""
    later = [each.start for each in reading.findings if each.start >= finding.end]
    rest = re.match(r"[^.,;:\n]*", reading.text[finding.end : min(later, default=len(reading.text))])
    return reading.quote(finding) + (rest[0] if rest else "")


def _movements(finding: ReadFinding, quote: str) -> dict[str, list[str]]:
    """'Flexion and extension of the joint': the labels name each movement, where the record has one of the joint."""
    known = catalogue().sites
    ways = {"flexion": r"\b(?:flex|bend|bent\b)", "extension": r"\b(?:exten|straight)"}
    told = [way for way, pattern in ways.items() if re.search(pattern, quote, re.IGNORECASE)]
    made = {}
    for place in _label_sites(finding) or [finding.words]:
        slug = next((site for site in finding.sites if known[site].name == place), "")
        digit = known[slug].digit if slug else None
        fingers = bool(digit) or "finger" in place or "digit" in place or "phalangeal" in finding.words
        part = "thumb" if digit == "thumb" else "finger" if fingers else slug if slug in {"wrist", "elbow"} else ""
        made[place] = [f"{part} {way}" for way in told] if part else []
    return made


def _value_text(finding: ReadFinding, kind: ValueKind) -> str:
    """A value as the labels write it, where the note's own figures are not to be had."""
    value = finding.value
    if kind is ValueKind.MRC and finding.state == "graded" and value:
        return str(value)  # half of a right and left pair, or a grade that is only implied
    if note := finding.qualifiers.get("note"):
        return str(note)
    if isinstance(value, dict):
        return " ".join(f"{each:g}" if isinstance(each, float) else str(each) for each in value.values())
    return f"{value:g}" if isinstance(value, float) else str(value or "")


def _places(finding: ReadFinding, quote: str) -> list[str]:
    """The sites of a finding; 'the other fingers' are one, as the labels have it."""
    sites = _label_sites(finding)
    return ["fingers"] if len(sites) > 1 and _OTHERS.search(quote) else sites


def _label_sites(finding: ReadFinding) -> list[str]:
    """Sites as the labels count them: all the digits of a row are one."""
    known = catalogue()
    names: list[str] = []
    digits: dict[str | None, set[str | None]] = {}
    for site in finding.sites:
        digits.setdefault(known.sites[site].row, set()).add(known.sites[site].digit)
    for site in finding.sites:
        row = known.sites[site].row
        inner = known.sites[site].digit
        if row == "digit" and any(known.sites[each].digit == inner and each != site for each in finding.sites):
            continue  # 'the index finger over its middle phalanx' is one place
        many = row is not None and digits[row] >= {"index", "middle", "ring", "little"}
        name = known.rows[row].plural if many and row is not None else known.sites[site].name
        if name not in names:
            names.append(name)
    return names


def _judged(value: object, slug: str) -> str:
    """A refill time under three seconds is labelled as normal, other numbers as numbers."""
    number = value.get("value") if isinstance(value, dict) else value
    return "normal" if slug == "capillary_refill_time" and isinstance(number, (int, float)) and number <= 3 else "value"  # noqa: PLR2004


def baseline() -> Callable[[str], list[dict[str, Any]]]:
    """A plain reader for comparison: the names of the catalogue by phrase, negation by negspacy, the side by word."""
    import spacy  # noqa: PLC0415 - only the report needs it
    from negspacy.negation import Negex  # noqa: F401, PLC0415 - registers itself
    from spacy.matcher import PhraseMatcher  # noqa: PLC0415
    from spacy.tokens import Span  # noqa: PLC0415

    concepts = tomllib.loads(CONCEPTS.read_text(encoding="utf-8"))
    known = catalogue()
    nlp = spacy.blank("en")
    nlp.add_pipe("sentencizer")
    negex = nlp.add_pipe("negex")
    nlp.disable_pipe("negex")
    matcher = PhraseMatcher(nlp.vocab, attr="LOWER")
    for term, slug in known.terms.items():
        matcher.add(slug, [nlp.make_doc(term)])

    def run(text: str) -> list[dict[str, Any]]:
        doc = nlp(text)
        spans = [Span(doc, start, end, nlp.vocab.strings[key]) for key, start, end in matcher(doc)]
        doc.ents = spacy.util.filter_spans(spans)
        negex(doc)
        found = []
        for entity in doc.ents:
            item = known.items[entity.label_]
            test = item.value is ValueKind.TEST
            negated = bool(entity._.negex)
            state = ("negative" if negated else "positive") if test else ("absent" if negated else "present")
            if item.scale or item.value is ValueKind.MRC:
                state = "reduced" if negated else "normal"
            words = {token.lower_ for token in entity.sent}
            sides = words & {"left", "right"}
            side = (
                "both"
                if len(sides) > 1 or words & {"bilateral", "bilaterally", "both"}
                else next(iter(sides), "unspecified")
            )
            name = concepts["concept"].get(item.slug, item.name)
            found.append({"concept": name, "side": side, "site": "", "state": state, "value": "", "quote": entity.text})
        return found

    return run


def score(folder: Path, predictions: Iterable[dict[str, Any]], *options: str) -> str:
    """The scorer's report on predictions."""
    with tempfile.TemporaryDirectory() as place:
        file = Path(place) / "predictions.jsonl"
        file.write_text("\n".join(json.dumps(row) for row in predictions), encoding="utf-8")
        command = [
            sys.executable, str(folder / "score.py"), str(file), "--gold", str(folder / "exam_text_dev.jsonl"),
            "--synonyms", str(folder / "synonyms.json"), *options,
        ]  # fmt: skip
        return subprocess.run(command, capture_output=True, text=True, check=True).stdout  # noqa: S603 - the corpus's own scorer


def main(options: list[str]) -> int:
    """Prints the report; 0 with the corpus and without it."""
    folder = corpus_folder()
    if folder is None:
        sys.stdout.write("The labelled corpus is not present; nothing to report.\n")
        return 0
    concepts = tomllib.loads(CONCEPTS.read_text(encoding="utf-8"))
    snippets = rows(folder)
    read("warm")
    begun = time.perf_counter()
    readings = {row["id"]: read(row["text"], language="en-US") for row in snippets}
    spent = (time.perf_counter() - begun) * 1000 / len(snippets)
    for title, certain in (("reader, all findings", False), ("reader, certain findings only", True)):
        predictions = [
            {"id": key, "findings": list(labelled(reading, concepts, certain_only=certain))}
            for key, reading in readings.items()
        ]
        sys.stdout.write(f"== {title}\n{score(folder, predictions, *options)}\n")
    plain = baseline()
    predictions = [{"id": row["id"], "findings": plain(row["text"])} for row in snippets]
    sys.stdout.write(f"== baseline: phrases of the catalogue with negspacy\n{score(folder, predictions)}\n")
    sys.stdout.write(f"reader: {spent:.2f} ms a snippet, warm\n{_REFERENCE}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
