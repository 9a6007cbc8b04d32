# Two commands matter: "make run" does the main job on the demo mill, "make test" checks everything.
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
MILL ?= ./demo-mill
SERVE ?= 1
PORT ?= 8340
MINUTES ?= 60
SAMPLE ?= 150
SEED ?= 1

# Loading the tests takes longer than many of them; what was loaded once is kept for the next process.
export PYTHONDONTWRITEBYTECODE :=

.PHONY: run test check kernels checked fast browser long explore bench soak fuzz mutants docs format clean

run: $(VENV)/.run
	@echo "Playing one shift of the demo mill in $(MILL); one that was played there is told again."
	@$(BIN)/clew demo --mill $(MILL) $(if $(filter 0,$(SERVE)),--no-serve,--serve --port $(PORT))

$(VENV)/bin/python:
	$(PYTHON) -m venv $(VENV)

$(VENV)/.run: $(VENV)/bin/python pyproject.toml constraints.txt
	@echo "Setting up, once: the packages Clew stands on."
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .
	$(BIN)/python -m compileall -q src
	touch $@

$(VENV)/.test: $(VENV)/.run
	$(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e ".[test,docs]"
	sh .ci/debian-packages
	sh .ci/epcis-schema $(VENV)/epcis-schema
	touch $@

# What needs one core each runs side by side; the kernels compile in there once, for all tests after them.
test: $(VENV)/.test
	$(MAKE) --jobs 2 check kernels docs
	$(MAKE) fast
	$(MAKE) browser

check: $(VENV)/.test
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

kernels: $(VENV)/.test
	$(BIN)/python -m pytest -q -m "kernel and not browser and not long"

checked: $(VENV)/.test
	NUMBA_OPT=1 NUMBA_BOUNDSCHECK=1 NUMBA_CACHE_DIR=$(VENV)/numba-checked $(BIN)/python -m pytest -q -m "kernel and not browser and not long"

# Two tests run side by side; threads of a library within one would stand in the other's way.
fast: $(VENV)/.test
	OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest -n 2 --dist worksteal -m "not kernel and not browser and not long"

browser: $(VENV)/.test
	$(BIN)/python -m pytest -n 2 --dist loadfile --no-loadscope-reorder -m browser tests/browser

long: $(VENV)/.test checked
	CLEW_MANUAL=all $(BIN)/python -m pytest -m "long and not browser"

# Tests of properties, with examples nobody has seen before; what fails says how to see it again.
explore: $(VENV)/.test
	$(BIN)/python -m pytest -n 2 --dist worksteal --hypothesis-profile=fresh -m "not browser and not services and not long"

bench: $(VENV)/.test
	$(BIN)/python benchmarks/run.py

soak: $(VENV)/.test
	$(BIN)/python -m tests.services.soak

fuzz: $(VENV)/.test
	$(BIN)/python -m tests.fuzz --minutes $(MINUTES) --seed $(SEED)

mutants: $(VENV)/.test
	for room in strand ball knots checks; do \
	  $(BIN)/python -m tests.mutation $$room --sample $(SAMPLE) --seed $(SEED) || exit 1; done

docs: $(VENV)/.test
	$(BIN)/python -m sphinx -q -n -W -b html docs docs/_build/html

format: $(VENV)/.test
	$(BIN)/ruff check --fix .
	$(BIN)/ruff format .

clean:
	rm -rf $(VENV) demo-mill docs/_build .pytest_cache .mypy_cache .ruff_cache
