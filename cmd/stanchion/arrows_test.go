package main

import (
	"os/exec"
	"strings"
	"testing"
)

// arrow says what the packages under a folder may import: packages of this module (exact, or with /… below) and
// modules from outside. The standard library is always allowed.
type arrow struct {
	folder string
	own    []string
	other  []string
}

// arrows holds the flow of the design: sensor → protocol → ingest → analyze → report → person. The first row whose
// folder fits a package counts, so inner folders come before outer ones.
func arrows() []arrow {
	return []arrow{
		{folder: "firmware-protocol/..."},
		{folder: "ingest/wholefile"},
		{folder: "ingest/csvlog", own: []string{"ingest"}, other: []string{"golang.org/x/sync"}},
		{folder: "ingest/wirelog", own: []string{"ingest", "firmware-protocol/wire"}},
		{folder: "ingest/capture/virtual", own: []string{"ingest", "firmware-protocol/wire"}, other: []string{
			"github.com/creack/pty", "golang.org/x/term"}},
		{folder: "ingest/capture", own: []string{"ingest", "ingest/wirelog", "firmware-protocol/wire"}, other: []string{
			"github.com/tarm/serial", "go.bug.st/serial"}},
		{folder: "ingest/calibrate", own: []string{"ingest"}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "ingest/setup", own: []string{"ingest", "ingest/csvlog"}, other: []string{"github.com/BurntSushi/toml"}},
		{folder: "ingest", own: []string{"firmware-protocol/..."}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "analyze/signal", other: []string{"gonum.org/v1/gonum"}},
		{folder: "analyze/compare", own: []string{"analyze", "analyze/signal"}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "analyze/trail", own: []string{"ingest", "analyze", "analyze/signal"}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "analyze/spring"},
		{folder: "analyze/damper", own: []string{"ingest", "analyze", "analyze/signal"}},
		{folder: "ingest/dyno", own: []string{"ingest"}},
		{folder: "analyze/advice", own: []string{"ingest", "analyze"}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "ingest/gpx", own: []string{"ingest"}},
		{folder: "ingest/fit", own: []string{"ingest"}, other: []string{"github.com/muktihari/fit"}},
		{folder: "ingest/logbook", own: []string{"ingest", "ingest/wholefile"}, other: []string{"modernc.org/sqlite"}},
		{folder: "analyze/...", own: []string{"ingest", "analyze/signal"}, other: []string{"gonum.org/v1/gonum"}},
		{folder: "report/...", own: []string{"ingest", "analyze", "analyze/..."}, other: []string{"github.com/go-echarts/go-echarts/v2"}},
		{folder: "sampledata/...", own: []string{"ingest", "sampledata/..."}},
		{folder: "cmd/...", own: []string{"..."}, other: []string{
			"github.com/spf13/cobra", "golang.org/x/term", "golang.org/x/sync"}},
	}
}

// match says whether path is pattern or, for a pattern that ends in "...", lies below it.
func match(pattern, path string) bool {
	if base, ok := strings.CutSuffix(pattern, "..."); ok {
		base = strings.TrimSuffix(base, "/")
		return base == "" || path == base || strings.HasPrefix(path, base+"/")
	}
	return path == pattern
}

func allowed(patterns []string, path string) bool {
	for _, p := range patterns {
		if match(p, path) {
			return true
		}
	}
	return false
}

// broken returns why a package may not import another, "" where it may.
func broken(table []arrow, from, imported string) string {
	const module = "stanchion/"
	folder := strings.TrimPrefix(from, module)
	for _, a := range table {
		if !match(a.folder, folder) {
			continue
		}
		if own, ok := strings.CutPrefix(imported, module); ok {
			if allowed(a.own, own) {
				return ""
			}
			return "the flow does not go that way"
		}
		first, _, _ := strings.Cut(imported, "/")
		if !strings.Contains(first, ".") { // standard library
			return ""
		}
		for _, m := range a.other {
			if imported == m || strings.HasPrefix(imported, m+"/") {
				return ""
			}
		}
		return "that module is not for this folder"
	}
	return "no row of the table is about this folder"
}

func TestImportArrows(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", `{{.ImportPath}} {{join .Imports " "}}`, "stanchion/...").Output()
	if err != nil {
		t.Fatalf("go list: %v", err)
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) < 5 {
		t.Fatalf("go list found only %d packages", len(lines))
	}
	for _, line := range lines {
		words := strings.Fields(line)
		for _, imported := range words[1:] {
			if why := broken(arrows(), words[0], imported); why != "" {
				t.Errorf("%s imports %s: %s", words[0], imported, why)
			}
		}
	}
}

// The check itself must notice wrong arrows.
func TestArrowsNotice(t *testing.T) {
	for _, c := range []struct {
		from, imported string
		ok             bool
	}{
		{"stanchion/analyze", "stanchion/ingest", true},
		{"stanchion/analyze", "stanchion/ingest/csvlog", false},
		{"stanchion/analyze", "stanchion/report", false},
		{"stanchion/analyze/signal", "stanchion/ingest", false},
		{"stanchion/analyze/signal", "gonum.org/v1/gonum/dsp/fourier", true},
		{"stanchion/ingest", "stanchion/analyze", false},
		{"stanchion/report", "github.com/spf13/cobra", false},
		{"stanchion/report", "os", true},
		{"stanchion/cmd/stanchion", "stanchion/analyze", true},
		{"stanchion/elsewhere", "os", false},
	} {
		if why := broken(arrows(), c.from, c.imported); (why == "") != c.ok {
			t.Errorf("%s imports %s: %q, want allowed = %v", c.from, c.imported, why, c.ok)
		}
	}
}
