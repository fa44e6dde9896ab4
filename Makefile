# The two commands: `make run` shows a briefing for the built-in demo lake, `make test` runs every check.
# Each sets up what it needs in .venv; uv is used when it is there, else python3 -m venv and pip.

PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
OUT ?= out
# One worker more than there are cores, since some tests wait; PYTEST_ARGS comes last and may say otherwise, as
# PYTEST_ARGS="-n 0". One thread a process: threads of the numerical libraries would only take turns with the workers.
# Compiled files are written, since many tests start the program anew.
WORKERS := $(shell expr $$(getconf _NPROCESSORS_ONLN) + 1)
PYTEST := PYTHONDONTWRITEBYTECODE= OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 $(BIN)/python -m pytest \
	-n $(WORKERS) --dist loadfile --no-loadscope-reorder --durations=15

.PHONY: run test tests checks setup setup-dev wheel-check goldens benchmarks full-checks clean

run: setup
	@$(BIN)/briefing demo --save $(OUT)

# The checks run beside the tests; each speaks in one piece.
test: setup-dev
	@$(MAKE) --no-print-directory -j2 --output-sync=target checks tests

tests: setup-dev
	$(PYTEST) $(PYTEST_ARGS)

checks: setup-dev
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy
	$(BIN)/lint-imports

# A stamp file a set-up, so that nothing is installed twice.
setup: $(VENV)/.run-stamp
setup-dev: $(VENV)/.dev-stamp

$(VENV)/bin/python:
	@if command -v uv >/dev/null 2>&1; then uv venv --quiet --python $(PYTHON) $(VENV); else $(PYTHON) -m venv $(VENV); fi

$(VENV)/.run-stamp: pyproject.toml constraints.txt | $(VENV)/bin/python
	@echo "Setting up $(VENV) ..."
	@if command -v uv >/dev/null 2>&1; then uv pip install --quiet --python $(BIN)/python -c constraints.txt -e .; \
	else $(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e .; fi
	@touch $@

$(VENV)/.dev-stamp: pyproject.toml constraints.txt tests/browser/package-lock.json | $(VENV)/bin/python
	@echo "Setting up $(VENV) with the tools for tests ..."
	@if command -v uv >/dev/null 2>&1; then uv pip install --quiet --python $(BIN)/python -c constraints.txt -e '.[dev]'; \
	else $(BIN)/python -m pip install --quiet --disable-pip-version-check -c constraints.txt -e '.[dev]'; fi
	@if command -v npm >/dev/null 2>&1 && npm ci --silent --prefix tests/browser; then :; \
	else echo "axe-core is not there (npm ci --prefix tests/browser): the checks of accessibility will say so."; fi
	@touch $@ $(VENV)/.run-stamp

# Builds the wheel, installs it in a fresh environment outside the checkout and makes a briefing there.
wheel-check: setup-dev
	$(BIN)/python tests/wheel_check.py

# Renews the golden briefings; read the difference before you commit it.
goldens: setup-dev
	$(BIN)/python -m briefing.report.schema > config/schemas/briefing.schema.json
	BRIEFING_RENEW_GOLDENS=1 $(BIN)/python -m pytest -q tests/report/test_mornings.py -k golden

benchmarks: setup-dev
	@for file in tests/benchmarks/bench_*.py; do echo "== $$file"; $(BIN)/python $$file || exit 1; done

# The whole of every long check, and one table at the end; about an hour and a half.
full-checks: setup-dev
	$(BIN)/python tests/full_checks.py

clean:
	rm -rf $(VENV) $(OUT) build dist *.egg-info
