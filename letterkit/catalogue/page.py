"""The catalogue for a reader: what `letterkit catalogue` prints and the page of documentation made from it."""

from __future__ import annotations

from collections.abc import Iterable

from letterkit.catalogue.load import Catalogue
from letterkit.catalogue.model import Item, Stage, ValueKind

_TITLES = {
    Stage.INSPECTION: "Inspection",
    Stage.PALPATION: "Palpation",
    Stage.MOVEMENT: "Movement",
    Stage.FUNCTION: "Function",
    Stage.NEUROVASCULAR: "Nerves and vessels",
    Stage.SPECIAL_TESTS: "Special tests",
}


def matching(catalogue: Catalogue, words: str) -> list[Item]:
    """The items whose slug, name or synonyms hold `words`; all of them for no words."""
    folded = words.casefold()
    return [
        item
        for item in catalogue.items.values()
        if any(folded in name.casefold() for name in (item.slug, item.name, *item.synonyms, *item.ambiguous))
    ]


def allowed(item: Item, catalogue: Catalogue) -> str:
    """What may be recorded of an item, in words."""
    match item.value:
        case ValueKind.PRESENCE:
            return "present, absent or equivocal"
        case ValueKind.TEST:
            return "positive, negative or equivocal"
        case ValueKind.STATE:
            assert item.scale is not None
            return ", ".join(state.slug for state in catalogue.scales[item.scale].states)
        case ValueKind.MRC:
            return "power grade 0 to 5, with plus or minus"
        case ValueKind.QUANTITY:
            return f"{item.minimum:g} to {item.maximum:g} {item.unit}"
        case ValueKind.ARC:
            return f"from and to, within {item.minimum:g} to {item.maximum:g} degrees"
        case ValueKind.TEXT:
            return "words, or normal"


def _site_words(item: Item, catalogue: Catalogue) -> str:
    rows = dict.fromkeys(catalogue.sites[slug].row or slug for slug in item.sites)
    return ", ".join(rows)


def item_lines(item: Item, catalogue: Catalogue) -> Iterable[str]:
    """An item in a few lines for a terminal."""
    yield f"{item.slug}: {item.name} ({_TITLES[item.stage].lower()})"
    yield f"  value: {allowed(item, catalogue)}"
    if item.sites:
        yield f"  sites: {_site_words(item, catalogue)}"
    if item.qualifiers:
        yield f"  also: {', '.join(sorted(item.qualifiers))}"
    if item.synonyms:
        yield f"  known as: {', '.join(item.synonyms)}"
    if item.trap:
        yield f"  note: {item.trap}"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def _head(*names: str) -> tuple[str, str]:
    return f"| {' | '.join(names)} |", f"|{'---|' * len(names)}"


def page(catalogue: Catalogue) -> str:
    """The catalogue as a Markdown page."""
    lines = [
        "# The examination",
        "",
        "Made from `letterkit/catalogue/data/` by `make docs`; do not edit it here.",
        "",
        f"{len(catalogue.items)} items, {len(catalogue.sites)} sites, {len(catalogue.problems)} presenting problems.",
    ]
    for stage in Stage:
        lines += [
            "",
            f"## {_TITLES[stage]}",
            "",
            "| item | slug | value | sites | known as | note |",
            "|---|---|---|---|---|---|",
        ]
        for item in catalogue.items.values():
            if item.stage is stage:
                cells = (item.name, f"`{item.slug}`", allowed(item, catalogue), _site_words(item, catalogue),
                         ", ".join(item.synonyms), item.trap or "")  # fmt: skip
                lines.append(f"| {' | '.join(_cell(cell) for cell in cells)} |")
    lines += ["", "## Presenting problems", "", "Negatives in the order of how much they tell."]
    for problem in catalogue.problems.values():
        lines += [
            "",
            f"### {problem.name}",
            "",
            "| negative | argues against | likelihood ratio | source |",
            "|---|---|---|---|",
        ]
        for negative in problem.negatives:
            names = ", ".join(catalogue.items[slug].name for slug in negative.items)
            ratio = "" if negative.lr is None else f"{negative.lr:g}"
            lines.append(
                f"| {_cell(names)} | {negative.argues_against} | {ratio} | {_cell(negative.source)} ({negative.mark}) |"
            )
    lines += ["", "## Sites", "", *_head("site", "slug")]
    lines += [f"| {site.name} | `{site.slug}` |" for site in catalogue.sites.values()]
    return "\n".join(lines) + "\n"
