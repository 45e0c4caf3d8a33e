# Shortcuts; each is one command that can be typed as well.

.PHONY: build test race bench demo sampledata check

build:            ## the one binary, ./stanchion
	CGO_ENABLED=0 go build -trimpath -o stanchion ./cmd/stanchion

test:             ## the README's test command
	go test ./...

race:             ## the same with the race detector
	go test -race ./...

bench:            ## every benchmark, at 5 min and 60 min of 1 kHz
	go test -run '^$$' -bench . -benchmem ./...

demo:             ## the README's main command
	go run ./cmd/stanchion demo --force

sampledata:       ## make the demo recordings again, byte for byte
	go generate ./sampledata

check:            ## what every change must pass
	gofmt -l . && go vet ./... && go test -race ./...
