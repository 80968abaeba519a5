# Two commands matter: `make demo` and `make test`. Everything they do is in dev.py (standard library only).
PYTHON ?= $(firstword $(foreach name,python3 python3.14 python3.13 python3.12 python3.11 python,$(if $(shell command -v $(name) 2>/dev/null),$(name))))
RUN = @$(if $(PYTHON),"$(PYTHON)" dev.py,$(error Python 3.11 or newer is needed and no python3 was found on the PATH))

.PHONY: help demo docs run test test-postgres lint bench fuzz proof load lock format
help:
	$(RUN) --help

demo:    ## plan the demo season over the demo logs, load its tanks, prove its machine, write the papers
	$(RUN) demo

docs:    ## the pages of docs/ as a site, which the shop serves at /docs/; a warning or a broken link is an error
	$(RUN) docs

run:     ## the shop on an invented branch, in out/shop; prints the address and whom to sign in as
	$(RUN) run $(REST)

test:    ## every test
	$(RUN) test

test-postgres: ## the shop's tests on a PostgreSQL of their own (needs Debian's postgresql)
	$(RUN) test-postgres $(REST)

lint:    ## format, lint, types, arrows between rooms, licences
	$(RUN) lint

bench:   ## how fast; prints figures, asserts nothing
	$(RUN) bench

fuzz:    ## damaged logs of every format by the thousand (an hour or so); REST="--formats csv --cases 500" for less
	$(RUN) fuzz $(REST)

proof:   ## the full simulations behind docs/proof (minutes)
	$(RUN) proof

load:    ## a full shop under load, on SQLite and PostgreSQL, and fifty kills (ten minutes); loopback only
	$(RUN) load $(REST)

format:  ## put the source in the house format
	$(RUN) format

lock:    ## make requirements.lock anew from pyproject.toml (needs uv)
	$(RUN) lock
