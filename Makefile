# aerode: everything a person or a machine runs here. Nothing but Python 3.11+, git and make is needed.
PYTHON ?= python3
BIN := .venv/bin
OUT := out
# Two workers share two cores; threads inside each only get in each other's way.
export OPENBLAS_NUM_THREADS ?= 1
export OMP_NUM_THREADS ?= 1

.DEFAULT_GOAL := help
.PHONY: help env env-dev demo check test test-deep benchmarks mutation docs lock screenshots wheel-check clean

help: ## what can be made
	@grep -hE '^[a-z-]+:.*##' $(MAKEFILE_LIST) | sed -E 's/:.*## /\t/' | expand -t 14

env: ## the environment for running
	@$(PYTHON) tools/setup.py

env-dev: ## the environment for testing
	@$(PYTHON) tools/setup.py --dev

demo: env ## the whole job on an invented bench: verdicts here, a report in out/
	@$(BIN)/aerode demo --out $(OUT)

check: env-dev ## the fast inner loop: style, types, contracts, unit tests
	$(BIN)/ruff check .
	$(BIN)/ruff format --check .
	$(BIN)/lint-imports --no-logo
	$(BIN)/pyright
	$(BIN)/python -m pytest -q tests/unit tests/docs -n auto

test: env-dev ## everything that must hold; closes on pytest's own summary
	@AERODE_BROWSER="$$($(PYTHON) tools/browser.py)" || exit 1; \
	$(BIN)/ruff check . && $(BIN)/ruff format --check . && $(BIN)/lint-imports --no-logo && $(BIN)/pyright && \
	AERODE_BROWSER="$$AERODE_BROWSER" $(BIN)/python -m pytest -n auto -m "not slow"

test-deep: env-dev ## the slow, deep suites
	$(BIN)/python -m pytest -n auto -m slow

benchmarks: env-dev ## named, seeded ratios; lists them, or NAME="start_up demo_gates"
	$(BIN)/python -m benchmarks $(NAME)

mutation: env-dev ## change the caution engine many times, see what no test notices; MINUTES=40
	$(BIN)/python tools/mutation.py --minutes $(or $(MINUTES),40)

docs: env-dev ## the generated pages of docs/
	$(BIN)/python tools/docs.py

screenshots: env-dev ## every page in light, dark, phone and print, into out/screenshots
	@AERODE_BROWSER="$$($(PYTHON) tools/browser.py)" $(BIN)/python tools/screenshots.py $(OUT)/screenshots

wheel-check: env-dev ## build the wheel, install it alone, run the demo there
	$(BIN)/python tools/wheel_check.py

lock: ## renew both locks (needs uv)
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	  --extra fast pyproject.toml -o requirements.lock
	uv pip compile --quiet --universal --python-version 3.11 --generate-hashes --no-header --no-annotate \
	  --extra dev pyproject.toml -o requirements-dev.lock

clean: ## remove what was made here
	rm -rf .venv out build dist .pytest_cache .ruff_cache .hypothesis
