"""The page of rules is made from the rules, and holds every one of them."""

from __future__ import annotations

import re

from letterkit.consistency.page import page
from letterkit.consistency.registry import FAMILIES, rules


def test_every_rule_stands_on_the_page_once_with_all_that_a_reader_needs():
    text = page()

    for each in rules():
        start = text.index(f"\n### {each.slug}\n")
        entry = text[start : text.find("\n#", start + 5)]
        assert text.count(f"\n### {each.slug}\n") == 1
        for part in (each.query_class.value, each.rationale, each.settle, each.source):
            assert part in entry, (each.slug, part)


def test_there_is_a_heading_for_every_family_that_has_rules():
    families = {each.family for each in rules()}

    assert families <= set(FAMILIES)
    assert len(re.findall(r"^## ", page(), re.MULTILINE)) == len(families) + 1


def test_the_page_leaves_no_name_of_a_filled_in_part_in_braces():
    assert "{" not in page()
