# make run    start ripeline with the demo workshop
# make test   run every test
# make check  format, vet, lint, generated files
# make bench  benchmarks, as one table that testdata/bench.md keeps
# make demo   the same as run
# make generate  write generated files anew

SHELL := /bin/bash
.DEFAULT_GOAL := run

export GOTOOLCHAIN ?= local
export GOFLAGS ?= -buildvcs=false
export RIPELINE_DATA ?= $(abspath ../shared/data)

VERSION := $(shell git describe --tags --always --dirty 2>/dev/null || echo unknown)
TOOL := go tool -modfile=.ci/lint.mod
ADDR ?= 127.0.0.1:8480
DATA ?= $(CURDIR)/data
BENCH ?= .
BENCHTIME ?= 1s

.PHONY: run demo serve build test check bench generate

run demo: build
	@.ci/need postgres tzdata
	@exec bin/ripeline demo --addr $(ADDR) --data $(DATA)

serve: build
	@.ci/need postgres tzdata
	@exec bin/ripeline serve --addr $(ADDR) --data $(DATA)

build:
	@mkdir -p bin
	go build -trimpath -ldflags '-X main.version=$(VERSION)' -o bin/ripeline ./cmd/ripeline

test:
	@.ci/need postgres chromium cc tzdata
	go test -race -shuffle=on -timeout 12m ./...

check:
	go vet ./...
	$(TOOL) golangci-lint fmt --diff
	$(TOOL) golangci-lint run
	@dead=$$($(TOOL) deadcode -test=false ./cmd/...) && if [ -n "$$dead" ]; then echo "never called:"; echo "$$dead"; exit 1; fi
	go mod verify
	go mod tidy -diff
	$(MAKE) --no-print-directory generate
	@git diff --exit-code -- testdata || { echo "generated files are out of date: commit what make generate wrote"; exit 1; }

generate:
	go generate ./...

bench:
	go run .ci/bench.go -bench '$(BENCH)' -benchtime $(BENCHTIME)
