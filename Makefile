# proveout: everything a contributor and CI run. `make` lists the targets.

GO         ?= go
# Tools are pinned here and kept out of go.mod, so that they never decide the
# version of a library the binary is built with.
STATICCHECK := $(GO) run honnef.co/go/tools/cmd/staticcheck@v0.8.2
LINT        := $(GO) run github.com/golangci/golangci-lint/v2/cmd/golangci-lint@v2.15.0
VULNCHECK   := $(GO) run golang.org/x/vuln/cmd/govulncheck@v1.9.0

FUZZTIME  ?= 30s
BENCH     ?=
COUNT     ?= 1
# A shop's folder to check, or flags: make knowledge DIR=./our-shop, make prove ARGS='--noise 0.1', make bench ARGS=--strict.
DIR       ?=
ARGS      ?=
# The race detector costs five to ten times the run. It goes where goroutines are
# or where they will share what was loaded. rules is arithmetic on one goroutine,
# and a command is one too: its scripts would only start slower programs.
RACE      := ./knowledge/... $(patsubst %,./%/...,$(wildcard dialog bot adapters))

.DEFAULT_GOAL := help
.NOTPARALLEL:
.PHONY: help build test race lint fmt check formatted vet staticcheck tidy generated \
	fuzz bench crash soak golden prove knowledge ngspice kannel psychrolib recognizers debian chromium axe vulnerabilities postgres

help: ## list the targets
	@awk -F ':.*## ' '/^[a-z]+:.*## / { printf "  %-12s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

build: ## build bin/proveout
	$(GO) build -o bin/ ./cmd/...

test: ## run every test
	$(GO) test ./...

race: ## run the tests of the packages that share things under the race detector
	$(GO) test -race -short $(RACE)

lint: vet staticcheck ## vet, staticcheck and golangci-lint (built on first use, a minute or two)
	$(LINT) run

fmt: ## format the Go files
	$(LINT) fmt

check: formatted tidy ngspice postgres kannel psychrolib recognizers debian chromium axe lint vulnerabilities test knowledge generated ## everything that must hold before a commit
	@echo "all holds"

formatted:
	@bad=$$(gofmt -l .); [ -z "$$bad" ] || { echo "not formatted, run make fmt:"; echo "$$bad"; exit 1; }

vet:
	$(GO) vet ./...

staticcheck:
	$(STATICCHECK) ./...

tidy:
	@$(GO) mod tidy -diff || { echo "go.mod is not tidy, run go mod tidy"; exit 1; }

# What is generated must be what is committed: run the generators and look whether
# anything moved, whatever else is being worked on.
generated:
	@state() { git status --porcelain; git diff; git ls-files -o --exclude-standard -z | xargs -0r sha256sum; }; \
	before=$$(state | sha256sum); $(GO) generate ./...; \
	[ "$$before" = "$$(state | sha256sum)" ] || { git status --short; echo "go generate changed the tree, commit what it made"; exit 1; }

# The list of known weaknesses is fetched. Without a network that is not done, which
# says nothing against the code and is not passed over in silence either. VULNDB names
# a copy of the list, as file:///FOLDER.
VULNDB    ?=
vulnerabilities: ## look for known weaknesses in what the binary calls (VULNDB=file:///COPY)
	@if out=$$($(VULNCHECK) $(if $(VULNDB),-db $(VULNDB)) ./cmd/proveout 2>&1); then echo "$$out"; exit 0; fi; \
	echo "$$out"; \
	case "$$out" in \
	*"fetching vulnerabilities"*) echo "NOT CHECKED for known weaknesses: their list cannot be fetched here; run make vulnerabilities where it can" ;; \
	*) exit 1 ;; \
	esac

fuzz: ## fuzz every target for FUZZTIME (30s) each
	@grep -rEo --include='*_test.go' '^func Fuzz[A-Za-z0-9_]+' . | sed 's/:func / /' | sort | \
	while read -r file target; do \
		echo "== $$target in $$(dirname $$file)"; \
		$(GO) test -run '^$$' -fuzz "^$$target$$" -fuzztime $(FUZZTIME) "$$(dirname $$file)" < /dev/null || exit 1; \
	done

# The bars in one table; with BENCH what those benchmarks say, and no table.
bench: ## measure every bar of scale and speed, a table (BENCH=regexp: those benchmarks; COUNT=n)
ifeq ($(BENCH),)
	$(GO) run ./cmd/proveout-bench --count $(COUNT) $(ARGS)
else
	$(GO) test -run '^$$' -bench '$(BENCH)' -benchmem -count $(COUNT) ./...
endif

ROUNDS    ?= 200
crash: ## kill the service under load ROUNDS (200) times and look for what is lost or done twice
	ROUNDS=$(ROUNDS) $(GO) test -count 1 -timeout 30m -v -run TestNothingIsLostOrDoneTwice ./bot

# As root it has a network and a disk of its own to hurt; what cannot be had is named as
# NOT RUN. One at a time on a machine.
MINUTES   ?= 10
JOBS      ?= 50000
SEED      ?=
soak: ## hurt three instances on one database for MINUTES (10) and look at what must hold (JOBS=50000 SEED=n)
	PROVEOUT_SOAK_MINUTES=$(MINUTES) PROVEOUT_SOAK_JOBS=$(JOBS) PROVEOUT_SOAK_SEED=$(SEED) $(GO) test -count 1 -timeout 0 -v -run '^TestSoak$$' ./bot/soak

# The rewrite flag exists only in test binaries that know transcripts, so the
# packages are picked by what their tests import.
golden: ## rewrite transcripts and scripts; read the difference, commit it by itself
	@dirs=$$(grep -rlE --include='*_test.go' '^(import)?[[:space:]]+"github.com/cockroachdb/datadriven"$$' . | xargs -r -n1 dirname | sort -u); \
	[ -z "$$dirs" ] || $(GO) test $$dirs -rewrite
	UPDATE_SCRIPTS=1 $(GO) test -count 1 -run TestScripts ./cmd/proveout
	@git diff --stat -- '*testdata*'

prove: ## play every fault against the engine (ARGS='--noise 0.1')
	$(GO) run ./cmd/proveout prove $(ARGS)

knowledge: ## check the knowledge, with DIR laid over it when named
	$(GO) run ./cmd/proveout check $(DIR)

# The circuits are compared with an outside simulator. It is installed where that
# can be done; in CI nothing may be skipped, so there its absence is a failure.
ngspice: ## install the circuit simulator that tests compare with (Debian, as root)
	@if command -v ngspice > /dev/null; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends ngspice; \
	elif [ "$${CI:-}" = true ]; then \
		echo "ngspice is missing and cannot be installed here; install the Debian package ngspice"; exit 1; \
	else \
		echo "ngspice is missing: the comparison of the circuits with it is skipped; install the Debian package ngspice to run it"; \
	fi

# A job is carried by text through a real gateway, which the tests start on loopback.
kannel: ## install the text message gateway that tests send through (Debian, as root)
	@if command -v bearerbox > /dev/null && command -v smsbox > /dev/null && [ -x /usr/lib/kannel/test/fakesmsc ]; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends kannel kannel-extras; \
	elif [ "$${CI:-}" = true ]; then \
		echo "Kannel is missing and cannot be installed here; install the Debian packages kannel and kannel-extras"; exit 1; \
	else \
		echo "Kannel is missing: no text is sent through it; install the Debian packages kannel and kannel-extras to do so"; \
	fi

# The record in a database is put to its laws on a server of the tests' own.
postgres: ## install the database server that tests start (Debian, as root)
	@if ls /usr/lib/postgresql/*/bin/initdb > /dev/null 2>&1; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends postgresql; \
	elif [ "$${CI:-}" = true ]; then \
		echo "PostgreSQL is missing and cannot be installed here; install the Debian package postgresql"; exit 1; \
	else \
		echo "PostgreSQL is missing: the tests of records in a database are skipped; install the Debian package postgresql to run them"; \
	fi

# Moist air is compared with the reference implementation of its equations, a package
# of npm, pinned. The folder is git-ignored and nothing built from it is shipped.
PSYCHROLIB := 1.1.1
psychrolib: ## install the reference implementation of moist air that tests compare with (npm)
	@if grep -qs '"version": "$(PSYCHROLIB)"' .psychrolib/node_modules/psychrolib/package.json; then exit 0; fi; \
	if command -v node > /dev/null && command -v npm > /dev/null && npm install --silent --no-save --no-audit --no-fund --ignore-scripts \
		--prefix .psychrolib psychrolib@$(PSYCHROLIB); then exit 0; fi; \
	if [ "$${CI:-}" = true ]; then \
		echo "node, npm or the package psychrolib is missing and cannot be installed here; install node and npm"; exit 1; \
	else \
		echo "node, npm or the package psychrolib is missing: the comparison of moist air with it is skipped; install node and npm to run it"; \
	fi

# Figures in messages are compared with the published number recognizers, packages of
# npm, pinned; used and kept the same way.
RECOGNIZERS := 1.3.1
recognizers: ## install the number recognizers that tests compare with (npm)
	@at=.recognizers/node_modules/@microsoft; \
	if grep -qs '"version": "$(RECOGNIZERS)"' $$at/recognizers-text-number/package.json && \
		grep -qs '"version": "$(RECOGNIZERS)"' $$at/recognizers-text-number-with-unit/package.json; then exit 0; fi; \
	if command -v node > /dev/null && command -v npm > /dev/null && npm install --silent --no-save --no-audit --no-fund --ignore-scripts \
		--prefix .recognizers @microsoft/recognizers-text-number@$(RECOGNIZERS) \
		@microsoft/recognizers-text-number-with-unit@$(RECOGNIZERS); then exit 0; fi; \
	if [ "$${CI:-}" = true ]; then \
		echo "node, npm or the packages recognizers-text-number are missing and cannot be installed here; install node and npm"; exit 1; \
	else \
		echo "node, npm or the packages recognizers-text-number are missing: the comparison of figures with them is skipped; install node and npm to run it"; \
	fi

# What is in deploy is judged by the programs it is for. Installed they would be
# services, and start; so they are unpacked from Debian's packages into a git-ignored folder.
DEBS := .debian/usr/bin
debian: ## unpack the programs that tests judge the deploy folder with (Debian)
	@if ! command -v systemd-analyze > /dev/null && [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends systemd; fi; \
	if [ -x $(DEBS)/promtool ] && [ -x $(DEBS)/caddy ]; then exit 0; fi; \
	mkdir -p .debian/packages && cd .debian/packages && \
	if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then apt-get update -qq; fi; \
	if command -v apt-get > /dev/null && apt-get -qq download prometheus caddy 2> /dev/null && \
		for p in *.deb; do dpkg-deb -x $$p ..; done; then rm -r ../packages; exit 0; fi; \
	if [ "$${CI:-}" = true ]; then \
		echo "the Debian packages prometheus and caddy cannot be had here"; exit 1; \
	else \
		echo "the Debian packages prometheus and caddy cannot be had here: the checks of the deploy folder with them are skipped"; \
	fi

# The pages are tried in a browser, and by the checks for those who see or move
# differently, a package of npm, pinned; used and kept the same way.
chromium: ## install the browser that the pages are tried in (Debian, as root)
	@if command -v chromium > /dev/null; then exit 0; fi; \
	if [ "$$(id -u)" = 0 ] && command -v apt-get > /dev/null; then \
		apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium; \
	elif [ "$${CI:-}" = true ]; then \
		echo "chromium is missing and cannot be installed here; install the Debian package chromium"; exit 1; \
	else \
		echo "chromium is missing: the pages are not tried in a browser; install the Debian package chromium to do so"; \
	fi

AXE := 4.14.1
axe: ## install the accessibility checks that the pages are put to (npm)
	@if grep -qs '"version": "$(AXE)"' .axe/node_modules/axe-core/package.json; then exit 0; fi; \
	if command -v npm > /dev/null && npm install --silent --no-save --no-audit --no-fund --ignore-scripts \
		--prefix .axe axe-core@$(AXE); then exit 0; fi; \
	if [ "$${CI:-}" = true ]; then \
		echo "npm or the package axe-core is missing and cannot be installed here; install node and npm"; exit 1; \
	else \
		echo "npm or the package axe-core is missing: the pages are not put to its checks; install node and npm to do so"; \
	fi
