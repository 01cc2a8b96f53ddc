# Thin names for `python3 dev.py SECTION`; on Windows say `py -3.11 dev.py SECTION`.
# Takes the first Python that dev.py can run with; another: make PYTHON=... test

PYTHON ?= $(shell for python in python3 python3.14 python3.13 python3.12 python3.11; do \
	$$python dev.py --version >/dev/null 2>&1 && echo $$python && break; done)

SECTIONS = test lint unit validation properties agreement browser docs no-jit bench-smoke demo app setup format lock upgrade

.PHONY: help $(SECTIONS)

help $(SECTIONS):
	@test -n "$(PYTHON)" || { echo "Fourpatch needs Python 3.11 to 3.14, and none is on the PATH: install one, or say make PYTHON=... $@" >&2; exit 1; }
	@$(PYTHON) dev.py $(@:help=--help)
