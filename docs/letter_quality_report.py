"""Writes docs/letter_quality.md: the rubric of letter quality for the letters of the demo cases, item by item.

What a program can score is scored here, anew at each run; what a person has to judge comes from
docs/letter_quality_judged.toml with the sentence that decided it. A judgement whose sentence no longer stands in its
letter is marked: it is to be judged again. Run as `python docs/letter_quality_report.py`; with --check nothing is
written, and the exit code is 1 if the page is stale.
"""

from __future__ import annotations

import argparse
import io
import re
import sys
import tomllib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from statistics import mean, median
from textwrap import wrap
from typing import Any

import pypdf

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "tests"))

from reading_ease import count  # noqa: E402

from letterkit.catalogue.model import Polarity  # noqa: E402
from letterkit.letter.model import BulletList, Paragraph, Sentence, Table  # noqa: E402
from letterkit.pipeline import Draft, draft  # noqa: E402
from letterkit.render.base import renderer  # noqa: E402

PAGE = HERE / "letter_quality.md"
JUDGED: dict[str, Any] = tomllib.loads((HERE / "letter_quality_judged.toml").read_text(encoding="utf-8"))
CASES = {path.stem: path for path in sorted((HERE.parent / "demo_cases").glob("*.json"))}
_SIDES = re.compile(r"\b(right|left|both|either)\b")
_DOSE = re.compile(r"\d\s?(mg|g|micrograms?|mL|units?)\b")
_FOLLOW_UP = re.compile(
    r"review|follow|visit|clinic|discharg|listed|admitted|seeing|refer again|requested", re.IGNORECASE
)
_REVERSE = "reverse"


@dataclass(frozen=True)
class Read:
    """One letter with what the scoring looks at."""

    name: str
    drafted: Draft

    @cached_property
    def sentences(self) -> tuple[Sentence, ...]:
        """Every sentence of the letter."""
        found: list[Sentence] = []
        for block in self.drafted.letter.blocks:
            if isinstance(block, Paragraph):
                found += block.sentences
            elif isinstance(block, BulletList):
                found += [sentence for entry in block.entries for sentence in entry]
        return tuple(found)

    @cached_property
    def text(self) -> str:
        """The letter as text, on one line."""
        letter = replace(self.drafted.letter, remarks=())
        return " ".join(renderer("text").render(letter).decode().split())

    @cached_property
    def pages(self) -> int:
        """How many pages it takes as PDF."""
        letter = replace(self.drafted.letter, remarks=())
        return len(pypdf.PdfReader(io.BytesIO(renderer("pdf").render(letter))).pages)

    def holds(self, words: str) -> bool:
        """Whether the letter has these words of the record."""
        return " ".join(words.split()).rstrip(".") in self.text

    @property
    def not_recorded(self) -> int:
        """How many things a reader looks for are asked of the clinician."""
        asked = [query for query in self.drafted.queries if query.rule == "expected-and-not-recorded"]
        return sum(query.message.count(";") + 1 for query in asked)


def _all_held(read: Read, texts: Iterable[str]) -> bool | None:
    told = list(texts)
    return all(read.holds(text) for text in told) if told else None


def _plan(read: Read) -> bool | None:
    plan = read.drafted.encounter.plan
    return _all_held(read, (action.text for action in plan)) if plan else None


def _question(read: Read) -> bool | None:
    reason = read.drafted.encounter.reason
    if reason is None or reason.question is None:
        return None
    return read.holds(reason.question) and bool(read.drafted.encounter.impression)


def _concerns(read: Read) -> bool | None:
    history = read.drafted.encounter.history
    return _all_held(read, [history.concerns]) if history and history.concerns else None


def _doses(read: Read) -> bool | None:
    dosed = [each for each in read.drafted.encounter.medication or () if re.search(r"\d", each)]
    return all(_DOSE.search(each) and read.holds(each[1:]) for each in dosed) if dosed else None


def _follow_up(read: Read) -> bool | None:
    plan = read.drafted.encounter.plan
    return any(_FOLLOW_UP.search(action.text) for action in plan) if plan else None


def _treatments(read: Read) -> bool | None:
    if read.drafted.encounter.medication is None:
        return None
    return _all_held(read, (each[1:] for each in read.drafted.encounter.medication)) is not False


# Number, what is asked, how the program decides it, and the decision; None is "not applicable: not recorded".
_Scored = tuple[int, str, str, str, Callable[[Read], bool | None]]
PROGRAM: tuple[_Scored, ...] = (
    (1, "a list of the medical problems is there", "confirmed", "every recorded diagnosis stands in the letter",
     lambda read: _all_held(read, (each.text for each in read.drafted.encounter.diagnoses))),
    (4, "present concerns were sought or clarified", "confirmed", "recorded concerns stand in the letter", _concerns),
    (6, "the examination fits the problem and question", "confirmed",
     "nothing a reader looks for is asked of the clinician as not recorded",
     lambda read: read.not_recorded == 0 if read.drafted.encounter.reason else None),
    (8, "the family's questions are addressed", "confirmed", "an encounter holds none of the family's", lambda _: None),
    (9, "the referrer's question is addressed", "confirmed",
     "a recorded question stands in the letter, with a clinical summary", _question),
    (10, "a clear plan", "from memory", "every recorded action stands in the letter", _plan),
    (12, "all treatments are clear", "from memory", "recorded medicines, or that there are none", _treatments),
    (13, "doses in formal units", "from memory", "every medicine with a figure has a unit beside it", _doses),
    (15, "what was told to the patient", "from memory", "recorded information stands in the letter",
     lambda read: _all_held(read, read.drafted.encounter.information_given)),
    (16, "clear whether follow-up is planned", "from memory", "the plan names it, or names who takes over", _follow_up),
)  # fmt: skip


def _mark(answer: bool | None) -> str:  # noqa: FBT001 - an answer of three
    return {True: "1", False: "0", None: "–"}[answer]


def _table(header: Sequence[str], rows: Iterable[Sequence[str]]) -> list[str]:
    return [f"| {' | '.join(header)} |", "|" + " --- |" * len(header), *(f"| {' | '.join(row)} |" for row in rows)]


def _program(reads: Sequence[Read]) -> list[str]:
    lines = [
        "| letter | " + " | ".join(str(number) for number, *_ in PROGRAM) + " |",
        "|" + " --- |" * (len(PROGRAM) + 1),
    ]
    lines += [f"| {read.name} | " + " | ".join(_mark(decide(read)) for *_, decide in PROGRAM) + " |" for read in reads]
    lines.append("")
    rows = []
    for number, asks, mark, how, decide in PROGRAM:
        answers = [answer for read in reads if (answer := decide(read)) is not None]
        rows.append(
            (str(number), asks, mark, how, f"{sum(answers)} of {len(answers)}" if answers else "not applicable")
        )
    return [*lines, *_table(("item", "asks", "mark", "the program says 1 where", "letters"), rows)]


def _answer(item: dict[str, Any], case: str) -> bool | None:
    for name, answer in (("yes", True), ("no", False), ("none", None)):
        if case in item.get(name, ()):
            return answer
    return {"yes": True, "no": False, "none": None}[item["rest"]]


def _judged(reads: Sequence[Read]) -> list[str]:
    by_name = {read.name: read for read in reads}
    lines = []
    for item in JUDGED["item"]:
        answers = {case: _answer(item, case) for case in by_name}
        asked = {case: answer for case, answer in answers.items() if answer is not None}
        bad = [case for case, answer in asked.items() if answer is bool(item.get(_REVERSE))]
        turn = " (yes is the bad answer)" if item.get(_REVERSE) else ""
        lines += [
            f"**{item['number']}. {item['asks'][:1].upper()}{item['asks'][1:]}**{turn}, {item['mark']}: "
            f"good in {len(asked) - len(bad)} of {len(asked)} letters"
            + (f"; not in {', '.join(bad)}." if bad else "."),
            "",
        ]
        for each in item["because"]:
            stale = (
                ""
                if by_name[each["letter"]].holds(each["sentence"])
                else " *This sentence no longer stands there: judge again.*"
            )
            lines.append(f"- {each['letter']}: {each['says']}. “{each['sentence']}” ({each['why']}){stale}")
        lines.append("")
    return lines


def _total(read: Read) -> tuple[int, int, int]:
    """Points of the checklist, points that could be had, and the global rating."""
    answers = [decide(read) for *_, decide in PROGRAM]
    for item in JUDGED["item"]:
        answer = _answer(item, read.name)
        answers.append(answer if answer is None or not item.get(_REVERSE) else not answer)
    held = [answer for answer in answers if answer is not None]
    return sum(held), len(held), JUDGED["global"][read.name][0]


def _counts(reads: Sequence[Read]) -> list[str]:
    sided = wrong = unsided = positives = lost = twice = 0
    for read in reads:
        by_id = {fact.id: fact for fact in read.drafted.facts.facts}
        stated = {each for sentence in read.sentences for each in sentence.facts}
        told = {each for block in read.drafted.letter.blocks if isinstance(block, Table)
                for row in block.rows for cell in row for each in cell.facts}  # fmt: skip
        twice += len(told & stated)
        abnormal = [fact for fact in by_id.values() if fact.polarity is Polarity.ABNORMAL]
        positives += len(abnormal)
        lost += sum(fact.id not in stated for fact in abnormal)
        for sentence in read.sentences:
            sides = {by_id[each].side for each in sentence.facts if each in by_id} - {None}
            if not sides:
                continue
            sided += 1
            words = set(_SIDES.findall(sentence.text.casefold()))
            unsided += not words
            wrong += ({"right", "left"} if words & {"both", "either"} else words) != sides
    rows = [
        ("side not stated", "8.71 % of 803 letters", f"{unsided} of {sided} sentences about a side"),
        ("wrong side", "3.3 % of 150 patients", f"{wrong} of {sided} sentences about a side"),
        ("something important missing", "6 %, as patients say", f"{lost} of {positives} recorded positives"),
        ("figures told in prose and again in the table", "not published", f"{twice}"),
    ]
    return _table(("error", "human letters (published, confirmed)", "demo letters"), rows)


def _readability(reads: Sequence[Read]) -> list[str]:
    rows = []
    grades = []
    for read in reads:
        own = [s.text.replace("\u00a0", " ") for s in read.sentences if s.origin in {"finding", "change", "caution"}]
        counted = count(own)
        score = counted.score()
        grades.append(score.grade)
        rows.append((read.name, str(len(read.text.split())), str(read.pages), str(counted.words),
                     f"{counted.mean_length:.1f}", f"{score.grade:.1f}", f"{score.ease:.0f}"))  # fmt: skip
    header = ("letter", "words in all", "pages (PDF)", "words of ours", "words a sentence", "Flesch-Kincaid grade",
              "reading ease")  # fmt: skip
    return [*_table(header, rows), "", f"Mean grade {mean(grades):.1f}, highest {max(grades):.1f}."]


def _para(*pieces: str) -> list[str]:
    return [*wrap(" ".join(pieces), 118), ""]


def page() -> str:
    """The whole page."""
    reads = [Read(name, draft(path.read_bytes())) for name, path in CASES.items()]
    totals = {read.name: _total(read) for read in reads}
    shares = [points / possible for points, possible, _ in totals.values()]
    globals_ = [rating for *_, rating in totals.values()]
    asked = [read.not_recorded for read in reads if read.drafted.encounter.reason]
    lines = [
        "# The quality of the letters",
        "",
        *_para(
            "Made by `python docs/letter_quality_report.py` from the demo cases and",
            "`docs/letter_quality_judged.toml`; do not edit it by hand. The letters are those to the doctor; the",
            "patient's copies are scored by `make report`.",
        ),
        "## The checklist",
        "",
        *_para(
            "The Sheffield Assessment Instrument for Letters (SAIL; Crossley 2001, in the form of Fox 2004):",
            "twenty points and a global rating. Items 1 to 9 are confirmed, 10 to 20 from memory. `–` is not",
            "applicable: nothing of the kind was recorded, and the tool makes nothing up.",
        ),
        "### Items that a program scores",
        "",
        *_program(reads),
        "",
        *_para(
            "What the program cannot see: whether an examination that lacks nothing was the right one, and",
            "whether the clinical summary answers the question rather than standing beside it. Item 6 is strict:",
            "one thing that a reader looks for and the clinician did not record makes it 0, and the clinician is",
            f"asked, since the letter cannot supply it. On average {mean(asked):.1f} such things are asked of a",
            "record.",
        ),
        "### Items that a person judged",
        "",
        *_para(
            f"Read on {JUDGED['read_on']:%d %B %Y} by one reader who took part in the making. Each judgement gives",
            "the sentence that decided it.",
        ),
        *_judged(reads),
        "### Points",
        "",
        *_table(
            ("letter", "checklist", "global, 1 to 10", "why"),
            [
                (name, f"{points} of {possible}", str(rating), JUDGED["global"][name][1])
                for name, (points, possible, rating) in totals.items()
            ],
        ),
        "",
        *_para(
            f"Median share of the checklist points that apply: {median(shares):.0%}; median global rating",
            f"{median(globals_):g}. Human letters: mean 23.3 (95 % confidence interval 22.1 to 24.4) of twenty",
            "points and the global rating together before feedback, 26.6 after it (Fox 2004, confirmed). Ours are",
            "not comparable: one reader, own letters, invented cases, and points that do not apply are left out",
            "instead of given.",
        ),
        "## The nine attributes",
        "",
        *_para(
            "Physician Documentation Quality Instrument, PDQI-9 (Stetson 2012; names and scale from memory), 1 to",
            "5, for the letters together. Its raters have been found not to agree (Walker 2017, confirmed).",
        ),
        *_table(
            ("attribute", "score", "because"),
            [(name, str(score), why) for name, (score, why) in JUDGED["pdqi"].items()],
        ),
        "",
        f"Together {sum(score for score, _ in JUDGED['pdqi'].values())} of 45.",
        "",
        "## Errors, counted",
        "",
        *_counts(reads),
        "",
        "## Length and reading ease",
        "",
        *_para(
            "Flesch formulas over our own sentences; the clinician's words, headings and tables are left out.",
            "Letters between doctors: grade 9.0, standard deviation 1.7, ease 61.8 (Todhunter, 295 letters,",
            "confirmed). The aim is grade 10 at most, and one page for one problem.",
        ),
        *_readability(reads),
        "",
        "## What this shows, and does not",
        "",
        *_para(
            "The counts say that no side was lost or changed in these letters and no recorded positive left out;",
            "these are the faults that letters written by hand are known for. The aim of one page for one problem",
            "is not met: normal findings are told in full, since each was recorded, and figures stand in prose",
            "and table where they depart from what is expected. The weakest items are those that only the",
            "clinician can fill: the summary, the reasons, the purpose of follow-up. Inside the findings, three",
            "letters begin with something else than a reader expects first.",
        ),
        *_para(
            "Nobody outside the making has read these letters blind. Two raters, one of them a general",
            "practitioner, and thirty letters an arm, would be the least that could support a claim.",
        ),
    ]
    while not lines[-1]:
        lines.pop()
    return "\n".join(lines) + "\n"


def main(arguments: Sequence[str] | None = None) -> int:
    """Writes the page, or says whether it is stale."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--check", action="store_true", help="change nothing; end with 1 if the page is stale")
    given = parser.parse_args(arguments)
    text = page()
    if given.check:
        current = PAGE.read_text(encoding="utf-8") if PAGE.is_file() else ""
        if text != current:
            sys.stderr.write("docs/letter_quality.md: stale; run python docs/letter_quality_report.py\n")
        return int(text != current)
    PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
