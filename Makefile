# Everything there is to do here. `make` alone lists it.

PORT          ?= 8080
ROPEWALK_DATA ?= ./var
PLAN          ?= testdata/calc/plan.json
BENCH         ?= .
SIZE          ?= 1
BENCHFLAGS    ?=
TESTFLAGS     ?=

.DEFAULT_GOAL := help
.PHONY: help texts run build test e2e faults release-dump bench benchmarks check check-science format-check vet staticcheck generated-check imports-check plain-check \
	vulnerabilities gosec plan generate format test-containers test-deploy test-scale

help: ## list these targets
	@awk -F ':.*## ' '/^[a-z][a-z-]*:.*## / { printf "  make %-16s %s\n", $$1, $$2 }' $(MAKEFILE_LIST)

run: build ## start the demo gym on http://localhost:PORT; data stay in ROPEWALK_DATA
	@$(if $(DATABASE_URL),,.ci/install postgres)
	@PORT=$(PORT) ROPEWALK_DATA=$(ROPEWALK_DATA) exec ./bin/ropewalk demo

build: ## build bin/ropewalk
	go build -o bin/ropewalk ./cmd/ropewalk

test: ## run all tests, browser tests too; installs what they need
	@.ci/install postgres browser documents scale
	go test -timeout 20m $(TESTFLAGS) ./...

e2e: ## run the browser tests alone
	@.ci/install postgres browser documents
	go test -timeout 20m $(TESTFLAGS) ./internal/e2e/...

test-scale: ## run several machines here and lose each in turn, in full; prints the figures (about 5 min)
	@.ci/install postgres scale
	go test -tags faults -count=1 -v -timeout 30m -run TestSeveralMachines $(TESTFLAGS) ./internal/faults

test-deploy: ## build the container image, bring up deploy/compose.yaml and look at it (root, Debian)
	.ci/test-deploy

test-containers: ## run the store's tests on PostgreSQL in a container (root, Debian)
	.ci/test-containers

faults: ## break a running server in every way we know, in full; prints the figures (about 30 min)
	@.ci/install postgres scale
	go test -tags faults -count=1 -v -timeout 90m $(TESTFLAGS) ./internal/faults/...

release-dump: ## write the data of RELEASE, such as v0.2.0, for later upgrades to be tried from
	@.ci/install postgres
	go test -count=1 ./internal/store -run '^TestReleaseDump$$' -release $(RELEASE)

.PHONY: fuzz
fuzz: ## fuzz every parser for TIME each, such as 30s; FUZZ=name picks some (hours)
	.ci/fuzz $(or $(TIME),10m)

bench: ## measure the speed against baselines; SIZE=1, 10 or 100 percent of the data
	@.ci/install postgres
	go build -o bin/ropewalk ./cmd/ropewalk
	go build -o bin/bench ./cmd/bench
	./bin/bench -size $(SIZE) $(BENCHFLAGS)

benchmarks: ## run the benchmarks of single packages; BENCH=name picks some
	@.ci/install postgres
	go test -run '^$$' -bench '$(BENCH)' -benchmem -timeout 60m ./...

.PHONY: screens
screens: ## take the pictures that the documents show; ALL=yes takes every one, SCREENS=folder puts them elsewhere
	@.ci/install postgres browser
	go test -tags screens -count=1 -timeout 60m ./internal/e2e -run '^TestScreens$$' \
		-args -screens $(abspath $(or $(SCREENS),docs/screens)) $(if $(ALL),-all)

check-science: ## compare the statistics with R and SciPy; installs them
	.ci/check-science

plan: ## compute the plan of the file PLAN, without any server
	@go run ./cmd/ropewalk calc plan $(PLAN)

check: format-check vet staticcheck plain-check generated-check imports-check vulnerabilities gosec ## check the code without running it

format-check:
	@unformatted=$$(gofmt -l $$(git ls-files --cached --others --exclude-standard '*.go')); \
	if [ -n "$$unformatted" ]; then echo "Not formatted (make format): $$unformatted"; exit 1; fi
	go tool templ fmt -fail -log-level error web

vet:
	go vet ./...
	go vet -tags science ./internal/cleanrun
	go vet -tags screens ./internal/e2e

staticcheck:
	go tool staticcheck ./...

plain-check:
	@go test ./web/tongue -run 'Plain|Current|Whole' >/dev/null || go test ./web/tongue -run 'Plain|Current|Whole'

generated-check:
	@go tool templ generate -check -log-level error -path web || \
		{ echo "Some _templ.go files do not match their .templ files (make generate)."; exit 1; }

imports-check:
	go test ./internal/archtest

vulnerabilities:
	@.ci/vulnerabilities

gosec:
	@.ci/gosec

texts: ## list anew what the pages say, for the other languages
	go test ./web/tongue -run TestCatalogueIsCurrent -update

generate: ## write the Go code of the pages
	go tool templ generate -path web

format: ## format the Go code and the pages
	gofmt -w $$(git ls-files --cached --others --exclude-standard '*.go')
	go tool templ fmt web
