# make demo   sets up everything and runs the main job on the demo store
# make web    the demo store in the browser, until stopped with Ctrl-C
# make test   sets up everything and runs every check
# make audit  asks whether a weakness is known in anything that the locks name
PYTHON ?= python3
VENV := .venv
BIN := $(VENV)/bin
RUN_LOCK := requirements/run.txt
DEV_LOCK := requirements/dev.txt
AUDIT_LOCK := requirements/audit.txt
AUDIT := $(VENV)/audit
INSTALL := PIP_DISABLE_PIP_VERSION_CHECK=1 $(BIN)/python -m pip install --quiet

.PHONY: demo web test check audit lock bench clean

demo: $(VENV)/.run-ready
	@$(BIN)/tethera demo --into demo-out

web: $(VENV)/.run-ready
	@test -d demo-out/store || $(BIN)/tethera demo --into demo-out
	@$(BIN)/tethera serve --store demo-out/store --open

test: $(VENV)/.dev-ready
	@$(BIN)/python tests/system_parts.py
	@$(MAKE) --no-print-directory check
	@$(BIN)/python -m pytest -n 2

check: $(VENV)/.dev-ready
	@$(BIN)/ruff check --quiet . && $(BIN)/ruff format --quiet --check .
	@$(BIN)/mypy --no-error-summary
	@$(BIN)/lint-imports --no-cache > $(VENV)/import-linter.txt 2>&1 || { cat $(VENV)/import-linter.txt; exit 1; }

# UNREACHED=told passes where nobody can be asked, and says so.
audit: $(AUDIT)/.ready
	@$(AUDIT)/bin/python requirements/audit.py $(if $(filter told,$(UNREACHED)),--unreached-is-told)

# The lock holds names, versions and hashes only: no index address, no path of this machine.
lock: $(VENV)/.dev-ready
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	    --extra build pyproject.toml -o $(RUN_LOCK)
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	    --extra build --extra dev -c $(RUN_LOCK) pyproject.toml -o $(DEV_LOCK)
	$(BIN)/uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	    requirements/audit.in -o $(AUDIT_LOCK)

bench: $(VENV)/.dev-ready
	@$(BIN)/python benchmarks/allocation.py ../shared/benchmarks/allocation

$(VENV)/bin/python:
	@$(PYTHON) -c 'import sys; sys.exit(sys.version_info < (3, 11))' || { echo 'Tethera needs Python 3.11 or newer; name one with  make PYTHON=python3.12 $(MAKECMDGOALS)' >&2; exit 1; }
	@echo "Setting up $(VENV) (once)" >&2
	@$(PYTHON) -m venv $(VENV)

$(VENV)/.run-ready: $(RUN_LOCK) pyproject.toml | $(VENV)/bin/python
	@echo "Installing what Tethera runs on" >&2
	@$(INSTALL) --require-hashes --only-binary :all: -r $(RUN_LOCK)
	@$(INSTALL) --no-deps --no-build-isolation -e .
	@touch $@

$(VENV)/.dev-ready: $(VENV)/.run-ready $(DEV_LOCK)
	@echo "Installing what the checks need" >&2
	@$(INSTALL) --require-hashes --only-binary :all: -r $(DEV_LOCK)
	@touch $@

$(AUDIT)/.ready: $(AUDIT_LOCK) | $(VENV)/bin/python
	@echo "Installing what the audit needs" >&2
	@$(PYTHON) -m venv $(AUDIT)
	@PIP_DISABLE_PIP_VERSION_CHECK=1 $(AUDIT)/bin/python -m pip install --quiet --require-hashes --only-binary :all: -r $(AUDIT_LOCK)
	@touch $@

clean:
	rm -rf $(VENV) demo-out build dist .mypy_cache .ruff_cache .pytest_cache .hypothesis
