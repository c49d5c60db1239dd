"""spaCy started for reading alone is still spaCy: what was left out comes when it is asked for."""

from __future__ import annotations

import subprocess
import sys

_CODE = """
import sys
from letterkit.reading.spacy_start import start_spacy
start_spacy()
import spacy
heavy = {"typer", "httpx", "requests", "pydantic.v1", "spacy.cli", "spacy.cli.info", "srsly._yaml_api", "tqdm"}
assert not heavy & set(sys.modules), heavy & set(sys.modules)
nlp = spacy.blank("en")
assert [token.text for token in nlp("Grip was 24 kg.")] == ["Grip", "was", "24", "kg", "."]
import srsly
assert srsly.yaml_dumps({"a": 1}) == "a: 1\\n"
from spacy.util import is_compatible_version, get_package_version, split_requirement
assert split_requirement("spacy>=3.8") == ("spacy", ">=3.8")
import pydantic.v1
import spacy.cli
assert spacy.info(silent=True)["spacy_version"] == spacy.__version__
print("whole")
"""


def test_what_was_left_out_comes_when_it_is_asked_for():
    done = subprocess.run([sys.executable, "-c", _CODE], capture_output=True, text=True, check=False)
    assert done.stdout == "whole\n", done.stderr
