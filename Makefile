# `make demo` and `make test` do everything on a machine with Python 3.11 or newer and make.
PYTHON ?= python3
BIN := .venv/bin
READY := .venv/.ready
SEED := $(or $(SEED),$(shell date +%s))

.PHONY: demo test check format label-trials screenshots histories mutants crashes writers drill fuzz bench clean

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

crashes: $(READY)  ## kill it hundreds of times, fail and damage its disk
	CONTINUITY_KILLS=600 $(BIN)/python -m pytest -s tests/faults/test_crashes.py tests/faults/test_disk.py tests/faults/test_damage.py --timeout 900

writers: $(READY)  ## sixteen stations record for a minute; prints how long they waited
	CONTINUITY_SECONDS=60 $(BIN)/python -m pytest -s tests/faults/test_writers.py

drill: $(READY)  ## back up, lose, put back and go on, with every command and answer shown
	$(BIN)/python -m pytest -s -q tests/faults/test_drill.py

fuzz: $(READY)  ## a million inputs and more; led by coverage where atheris installs
	-$(BIN)/python -m pip install --quiet --target .venv/fuzz atheris
	PYTHONPATH=.venv/fuzz $(BIN)/python -m tests.fuzzing.fuzz --seconds 30

bench: $(READY)  ## ratios side by side; writes tests/benchmarks/FIGURES.md
	$(BIN)/python -m tests.benchmarks

histories: $(READY)  ## 2,000 random histories against the naive world; SEED=N tells some again
	@echo "CONTINUITY_SEED=$(SEED)"
	CONTINUITY_SEED=$(SEED) CONTINUITY_HISTORIES=2000 $(BIN)/python -m pytest tests/properties -n 2 --timeout 3600

mutants: $(READY)  ## small changes to the care modules that a test must notice; MODULES="..."
	$(BIN)/python -m tests.mutation $(MODULES) --write tests/mutation/SURVIVORS.md

format: $(READY)
	$(BIN)/ruff format .
	$(BIN)/ruff check --fix .

$(READY): pyproject.toml constraints.txt
	$(PYTHON) -m venv .venv
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'
	touch $@

clean:
	rm -rf .venv demo-run .mypy_cache .ruff_cache .hypothesis
