# make demo   reads, explains and checks the built-in demo, hands it over to demo/ and
#             proposes blocks for its clients and group there
# make test   passes all tests on a fresh clone; installs Debian's coinor-cbc,
#             postgresql and chromium where they are missing, and axe-core by npm
# make run    builds bin/corbel and opens an invented practice at 127.0.0.1:7420
# make build  builds bin/corbel, one static binary
# make tools  what sheet writes, held against other programs (.ci/steps/10-install)
# make mujoco postures and joint moments, held against the MuJoCo engine (needs Node)
# make long   what takes longer: fuzzing, the race detector, 10,000 random blocks
# make lint   gofmt, go vet, staticcheck
# make bench  benchmarks with allocations
# make fuzz   every fuzz target, FUZZTIME each (60s)
# make gen    rewrites docs/schema and docs/fields.md
# make report published against predicted (a minute)
# make screens writes pictures of every page, light and dark: docs/screens
# make figures draws every exercise: docs/figures (needs rsvg-convert of librsvg)

export GOTOOLCHAIN := go1.27.3
export CGO_ENABLED := 0

FUZZTIME ?= 60s

.PHONY: demo build run needs test tools mujoco long lint bench fuzz gen report figures screens

demo:
	go run ./cmd/corbel demo -o demo
	for who in rosa tomas; do go run ./cmd/corbel design examples/$$who-client.yaml --start 2026-12-28 -o demo/$$who-proposed.yaml || exit 1; done
	go run ./cmd/corbel design --group examples/valley-group.yaml --start 2026-12-28 -o demo/valley-proposed.yaml

build:
	go build -trimpath -ldflags='-s -w' -o bin/corbel ./cmd/corbel

run: build
	./bin/corbel serve --demo --data bin/demo-practice

# The exact solver that proves what package design finds, PostgreSQL, and what tests
# pages, are installed where they are missing.
needs:
	bash .ci/needs cbc coinor-cbc '/usr/lib/postgresql/*/bin/initdb' postgresql chromium chromium npm npm
	npm ci --silent --no-audit --no-fund --prefix web/testdata/axe

test: needs
	go test ./...

tools:
	go test -tags tools -count=1 ./sheet

mujoco:
	npm ci --silent --no-audit --no-fund --prefix body/testdata/mujoco
	go test -tags mujoco -count=1 -run MuJoCo -v ./body

long: needs fuzz
	CGO_ENABLED=1 go test -race -count=1 -timeout 90m ./...
	CORBEL_LONG=1 go test -count=1 -timeout 90m ./...

lint:
	@test -z "$$(gofmt -l . | tee /dev/stderr)"
	go vet ./...
	go tool staticcheck ./...

bench:
	go test -run='^$$' -bench=. -benchmem ./...

fuzz:
	bash .ci/fuzz $(FUZZTIME)

gen:
	go run ./docs/gen

figures:
	rm -rf bin/figures && mkdir -p docs/figures
	go run ./cmd/corbel exercise figures -o bin/figures
	go run ./cmd/corbel exercise figures --grey -o bin/figures
	rm -f docs/figures/figures-*.png
	cd bin/figures && for f in *.svg; do rsvg-convert --width 960 -o ../../docs/figures/$${f%.svg}.png $$f; done

screens: needs
	go test -tags screens -count=1 -timeout 20m -run TestScreens -v ./web

report:
	go run ./cmd/corbel report --draws 200
