"""How long one page takes as PDF once the typesetter is warm; the figure is written beside the budget of 30 ms.

No time is asserted, since machines differ. Each round sets another letter, as a run of letters does.
"""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import count
from typing import Any

import pypdf
from test_bench_docx import one_page

from letterkit.render.pdf import renderer

BUDGET_MS = 30


def test_one_page_letter_as_pdf(benchmark: Any) -> None:
    """One page from the document model, each time for another patient."""
    letter, make, numbers = one_page(), renderer(), count()
    assert len(pypdf.PdfReader(io.BytesIO(make.render(letter))).pages) == 1

    benchmark(lambda: make.render(replace(letter, continuation=f"{letter.continuation} {next(numbers)}")))

    benchmark.extra_info["letterkit_median_ms"] = round(benchmark.stats.stats.median * 1000, 3)
    benchmark.extra_info["budget_ms"] = BUDGET_MS
