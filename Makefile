# Two commands for a newcomer: `make demo` and `make test`. Both set up all they need.

PYTHON ?= python3
VENV   := .venv
BIN    := $(VENV)/bin
READY  := $(VENV)/.ready
SHARED := -n auto --dist loadfile  # a process a core, each with whole files, so that what a file sets up is set up once

.PHONY: demo test fast check browser clean

demo: $(READY)
	$(BIN)/setwright demo demo

test: $(READY) browser
	$(BIN)/python -m pytest $(SHARED)

fast: $(READY)
	$(BIN)/python -m pytest $(SHARED) -m "not browser and not slow"

check: $(READY)
	$(BIN)/ruff format --check .
	$(BIN)/ruff check .
	$(BIN)/mypy

browser:
	sh .ci/browser

$(READY): .ci/requirements.lock pyproject.toml
	test -x $(BIN)/python || $(PYTHON) -m venv $(VENV)
	$(BIN)/python -m pip install --quiet --disable-pip-version-check uv
	$(BIN)/uv pip sync --quiet --python $(BIN)/python .ci/requirements.lock
	$(BIN)/uv pip install --quiet --python $(BIN)/python --no-deps --no-build-isolation --editable .
	touch $@

clean:
	rm -rf $(VENV) demo
