package gpx

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stanchion/ingest"
)

// FuzzRead checks that no input panics, that the bounds hold and that a track keeps what ingest.Track promises.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob("testdata/valid/*.gpx")
	for _, path := range append(files, "testdata/version_1_0.gpx") {
		text, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(string(text))
	}
	f.Add(doc(`<trkpt lat="1" lon="2"><time>2025-06-14T16:20:31Z</time></trkpt>`, `<trkpt lat="1" lon="2"/>`))
	f.Add("\x1f\x8b\x08\x00")
	f.Add("<!DOCTYPE gpx>" + head)
	f.Fuzz(func(t *testing.T, text string) {
		const most = 50
		track, err := readText(text, Options{MaxBytes: 1 << 20, MaxPoints: most})
		if err != nil {
			var h ingest.Hinted
			if !errors.As(err, &h) || h.Hint == "" || !strings.HasPrefix(err.Error(), "run.gpx:") {
				t.Fatalf("bare error %v", err)
			}
			return
		}
		if n := len(track.Fixes); n == 0 || n > most || track.Rows.Data-track.Rows.Bad != n {
			t.Fatalf("%d fixes, rows %+v", n, track.Rows)
		}
		last, piece, timed := math.Inf(-1), 0, false
		for _, fix := range track.Fixes {
			if !(math.Abs(fix.LatDeg) <= 90) || !(fix.LonDeg >= -180 && fix.LonDeg < 180) || fix.Piece < piece {
				t.Fatalf("%+v after piece %d", fix, piece)
			}
			piece = fix.Piece
			if math.IsNaN(fix.TimeS) {
				continue
			}
			timed = true
			if !(fix.TimeS > last) || math.IsInf(fix.TimeS, 0) {
				t.Fatalf("%v s after %v s", fix.TimeS, last)
			}
			last = fix.TimeS
		}
		if timed == track.Start.IsZero() {
			t.Fatalf("starts at %v", track.Start)
		}
	})
}
