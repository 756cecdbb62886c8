# The whole developer interface. Bare `make` prints it.
.DEFAULT_GOAL := help
SHELL := /bin/bash
PYTHON ?= python3
BIN := .venv/bin

help:  ## print these commands
	@grep -E '^[a-z-]+:.*## ' $(MAKEFILE_LIST) | sed -E 's/^([a-z-]+):.*## /  make \1\t/' | expand -t 22

demo: .venv/run  ## watch a simulated cook of two steaks in your browser (no hardware needed)
	@$(BIN)/pullcall demo $(DEMO)

demo-bluetooth: .venv/run system  ## the same cook through real Bluetooth code and a virtual adapter
	@$(BIN)/pullcall demo --bluetooth $(DEMO)

test: .venv/dev system  ## run every test, with nothing skipped
	REQUIRE_TOOLS=1 $(BIN)/pytest -n 4 --dist loadfile

explore: .venv/dev system  ## every property test with newly drawn examples (the suite draws the same ones each time)
	PULLCALL_EXPLORE=1 REQUIRE_TOOLS=1 $(BIN)/pytest -n 2 -m hypothesis $(EXPLORE)

check: .venv/dev  ## types, style and formatting
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/mypy

bench: .venv/dev system  ## print the figures the project promises, measured on this machine
	$(BIN)/python -m tests.bench $(BENCH)

crash: .venv/dev system  ## kill a running cook 200 times and check each time that nothing is lost (about 15 minutes)
	$(BIN)/python -m tests.crash $(CRASH)

fuzz: .venv/dev  ## ten minutes of hostile bytes at everything that reads what others send
	$(BIN)/python -m tests.fuzz $(FUZZ)

soak: .venv/dev system  ## a day of six hours at 20 times life, with faults (about 20 minutes)
	$(BIN)/python -m tests.soak $(SOAK)

system:  ## install the Debian packages that tests and demo-bluetooth use, if missing
	@config/system-packages.sh

audit: .venv/dev  ## ask about known weaknesses of the pinned packages, and count what was not answered
	$(BIN)/python -m tests.supply.audit

pins: .venv/dev  ## refresh the pinned, hashed requirements in config/
	cd config && ../$(BIN)/uv pip compile -q --universal --generate-hashes --python-version 3.11 --no-emit-index-url ../pyproject.toml -o requirements.txt
	cd config && ../$(BIN)/uv pip compile -q --universal --generate-hashes --python-version 3.11 --no-emit-index-url --all-extras --group ../pyproject.toml:dev ../pyproject.toml -o requirements-dev.txt

.venv/bin/uv:
	@$(PYTHON) -m venv .venv || { echo "Python could not make a virtual environment. On Debian: apt install python3-venv"; rm -rf .venv; exit 1; }
	@$(BIN)/pip -q --disable-pip-version-check install uv

.venv/run: .venv/bin/uv config/requirements.txt pyproject.toml api/build_hook.py
	@echo "Preparing .venv (about ten seconds, once) ..."
	@$(BIN)/uv pip install -q --python $(BIN)/python --require-hashes -r config/requirements.txt
	@$(BIN)/uv pip install -q --python $(BIN)/python --no-deps -e .
	@touch $@

.venv/dev: .venv/run config/requirements-dev.txt
	@$(BIN)/uv pip install -q --python $(BIN)/python --require-hashes -r config/requirements-dev.txt
	@touch $@

.PHONY: help demo demo-bluetooth test explore check audit bench crash fuzz soak system pins
