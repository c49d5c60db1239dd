# What a contributor runs. Everything works in a virtual environment of the project's own, made on first use.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
STAMP := $(VENV)/.installed

.PHONY: demo test bench lint docs soak report reading-report lock clean

$(STAMP): requirements.lock pyproject.toml
	$(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --require-hashes -r requirements.lock
	$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps --no-build-isolation --editable .
	touch $@

# The main job: a letter for every demo case, in out/.
demo: $(STAMP)
	$(BIN)/letterkit draft demo_cases --out out

test: $(STAMP)
	$(BIN)/python -m pytest -n 2 --dist worksteal --benchmark-disable

bench: $(STAMP)
	$(BIN)/python -m pytest tests/bench --benchmark-only --benchmark-columns=median,iqr,rounds
	LETTERKIT_TIMED=1 $(BIN)/python -m pytest tests/browser/test_live.py -k follows -s -q

lint: $(STAMP)
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports
	$(BIN)/python docs/generate.py --check

docs: $(STAMP)
	$(BIN)/python docs/generate.py

# Long property runs, as a nightly build would do them.
soak: $(STAMP)
	LETTERKIT_SOAK=1 $(BIN)/python -m pytest tests/properties -n 2 --dist worksteal --maxfail=1

report: $(STAMP)
	$(BIN)/python docs/readability_report.py

reading-report: $(STAMP)
	$(BIN)/python docs/reading_report.py

# Pins every dependency with its hashes; run after a change of pyproject.toml.
lock: $(STAMP)
	$(BIN)/python -m uv pip compile pyproject.toml --group dev --universal --python-version 3.11 --generate-hashes \
	  --quiet --no-header --no-emit-index-url --output-file requirements.lock

clean:
	rm -rf $(VENV) out .mypy_cache .ruff_cache .hypothesis
