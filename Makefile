# `make demo` and `make test` do everything on a machine with Python 3.11 or newer and make.
PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready

.PHONY: demo test check format label-trials screenshots histories bench clean

demo: $(READY)  ## tell two invented cases with the tool's own commands
	$(BIN)/continuity demo

test: $(READY)  ## the whole suite, in under five minutes on two cores
	$(BIN)/python -m pytest -n 2 --dist worksteal

check: $(READY)  ## format, lint, types, import directions
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy
	$(BIN)/lint-imports

label-trials: $(READY)  ## read damaged labels back with two decoders; writes labels/TRIALS.md
	$(BIN)/python -m continuity_labels.trials --write labels/TRIALS.md

screenshots: $(READY)  ## a picture of each of the station's screens
	$(BIN)/python -m continuity_cli.station.screenshots

bench: $(READY)  ## ratios side by side; writes tests/benchmarks/FIGURES.md
	$(BIN)/python -m tests.benchmarks

histories: $(READY)  ## 2,000 random histories against the naive world
	CONTINUITY_HISTORIES=2000 $(BIN)/python -m pytest tests/properties --timeout 3600

format: $(READY)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

$(READY): pyproject.toml constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	touch $@

clean:
	rm -rf .venv demo-run .mypy_cache .ruff_cache .hypothesis
