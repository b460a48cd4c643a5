# What people and the build server run. Each target sets up .venv by itself when needed.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
USABLE := $(VENV)/.usable
READY := $(VENV)/.ready
DEMO_JOB := output_examples/mill_creek.toml

.PHONY: help demo test thorough lint examples golden readme bench mutants clean

help: ## show the targets
	@sed -n 's/^\([a-z]*\):.*## /\1: /p' Makefile

$(USABLE): pyproject.toml
	@$(PYTHON) -c 'import sys; sys.exit("Python 3.11 or later is needed" if sys.version_info < (3, 11) else 0)'
	@echo "setting up $(VENV)"
	@$(PYTHON) -m venv $(VENV)
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable .
	@touch $@

$(READY): $(USABLE)
	@echo "adding what the tests need to $(VENV)"
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --editable '.[test]'
	@# compared with its tables only: what it would build with is not needed
	@$(BIN)/python -m pip install --quiet --disable-pip-version-check --no-deps 'bd_warehouse>=0.2,<1'
	@touch $@

demo: $(USABLE) ## build the demo job's workbooks into demo/: both editions, blank and from the job
	@mkdir -p demo
	@cd demo && for edition in inch mm; do \
	  ../$(BIN)/workbook-builder build spool --edition $$edition && \
	  ../$(BIN)/workbook-builder build spool --edition $$edition --job ../$(DEMO_JOB) || exit; done

test: $(READY) ## run the tests
	@$(BIN)/python -m pytest

thorough: $(READY) ## run all tests, those that take minutes too
	@$(BIN)/python -m pytest -m ""

lint: $(READY) ## check style and types
	@$(BIN)/ruff check .
	@$(BIN)/mypy

examples: $(READY) ## rebuild output_examples/
	@$(BIN)/python tests/make_examples.py

readme: $(READY) ## rewrite the lists of README.md and DEVELOPERS.md that follow from the data
	@$(BIN)/python tests/make_readme.py

golden: $(READY) ## bless the golden workbooks: what is built now is what is meant
	@$(BIN)/python tests/golden.py

bench: $(READY) ## measure building and listing
	@$(BIN)/python tests/bench.py

mutants: $(READY) ## change the formulas one at a time, and count the changes that a check notices
	@$(BIN)/python tests/mutants.py --every 20 --minutes 7

clean: ## remove what the other targets made, .venv too
	rm -rf $(VENV) demo build dist .pytest_cache .mypy_cache .ruff_cache .hypothesis
