package csvlog

import (
	"context"
	"errors"
	"math"
	"strconv"
	"strings"
	"testing"
	"time"

	"stanchion/ingest"
)

// FuzzRead checks that no input panics or hangs, that the parts of a recording agree with each other, that chunks do not
// matter, and that what was read, written as a plain log, reads back the same.
func FuzzRead(f *testing.F) {
	for _, text := range []string{
		"t_us,fork [counts]\n0,310\n1000,311\n2000,402\n",
		"\ufefftime (s);travel (mm)\r\n0,000;0,00\r\n0,001;1,50\r\n",
		"| time_s | travel_mm |\n|---|---|\n| 0.000 | 0.00 |\n| 0.001 | 1.50 |\n",
		"when,travel_mm,lap\n2016-12-31T23:59:60Z,1,\n2017-01-01T00:00:00Z,2,x\n",
		"Time;travel_mm\n23:59:59,0;1\n00:00:00,5;4\n",
		"# t_us fork_counts\n0 310\n1000 311\n", "Time,Fork\n[us],[counts]\n0,310\n1000,\"3\n11\"\n",
		"1.5\nNaN\n2.5\n", "0,1e5\r1,-.5\r", "a,\"b\n\"\"\n1,2\n3,4\n", "\x1f\x8b\x08\x00", "\xff\xfe1\x00,\x002\x00\n\x00", "1,000;2\n3;4\n", "x\x00\x00\x00",
	} {
		f.Add(text, 0.0, uint8(7))
		f.Add(text, 1000.0, uint8(64))
	}
	f.Fuzz(func(t *testing.T, text string, rate float64, chunk uint8) {
		ctx, cancel := context.WithTimeout(context.Background(), 20*time.Second)
		defer cancel()
		o := Options{RateHz: rate, MaxBadShare: 1, TravelUnit: "mm", MaxBytes: 1 << 22, chunkSize: 1 << 20}
		r, err := ReadFrom(ctx, strings.NewReader(text), "f", o)
		if errors.Is(err, context.DeadlineExceeded) {
			t.Fatal("hangs")
		}
		o.chunkSize = 1 + int(chunk)
		again, againErr := ReadFrom(ctx, strings.NewReader(text), "f", o)
		if (err == nil) != (againErr == nil) || err != nil && err.Error() != againErr.Error() {
			t.Fatalf("chunks matter: %v, %v", err, againErr)
		}
		if err != nil {
			var e *Error
			if !errors.As(err, &e) || e.Reason == "" {
				t.Fatalf("bare error %v", err)
			}
			return
		}
		if !equalRecordings(r, again) {
			t.Fatalf("chunks matter:\n%+v\n%+v", r, again)
		}
		checkRecording(t, r)
		checkReadsBack(t, r)
	})
}

// checkRecording checks what ingest.Recording promises.
func checkRecording(t *testing.T, r *ingest.Recording) {
	n := len(r.Travel)
	if n < 2 {
		t.Fatalf("%d samples", n)
	}
	switch r.Clock.Kind {
	case ingest.ClockNone:
		if r.Stamps != nil || !(r.Clock.RateHz > 0) || n != r.Rows.Data {
			t.Fatalf("%+v", r)
		}
	default:
		if len(r.Stamps) != n || !(r.Clock.TickS > 0) || n != r.Rows.Data-r.Rows.Bad {
			t.Fatalf("%+v", r)
		}
		for i, s := range r.Stamps {
			if math.IsNaN(s) || math.IsInf(s, 0) || math.IsNaN(r.Travel[i]) || math.IsInf(r.Travel[i], 0) {
				t.Fatalf("sample %d: %v at %v", i, r.Travel[i], s)
			}
		}
	}
	for _, c := range r.Extra {
		if len(c.Values) != n || c.Name == "" {
			t.Fatalf("channel %q has %d values, not %d", c.Name, len(c.Values), n)
		}
	}
	for _, m := range r.Markers {
		if m.Sample < 0 || m.Sample >= n || m.Label == "" {
			t.Fatalf("marker %+v", m)
		}
	}
}

// checkReadsBack writes stamps and travel plainly and reads them again.
func checkReadsBack(t *testing.T, r *ingest.Recording) {
	if r.Clock.Kind == ingest.ClockNone {
		return
	}
	var b strings.Builder
	b.WriteString("time [s],travel [mm]\n")
	for i := range r.Stamps {
		b.WriteString(strconv.FormatFloat(r.Stamps[i], 'g', -1, 64) + "," + strconv.FormatFloat(r.Travel[i], 'g', -1, 64) + "\n")
	}
	back, err := readString(b.String(), Options{})
	if err != nil {
		if strings.Contains(err.Error(), "never changes") || strings.Contains(err.Error(), "too coarse") {
			return // clock times past midnight may come to stand still
		}
		t.Fatalf("%v\n%s", err, b.String())
	}
	if !same(back.Stamps, r.Stamps) || !same(back.Travel, r.Travel) {
		t.Fatalf("reads back as %v %v, want %v %v", back.Stamps, back.Travel, r.Stamps, r.Travel)
	}
}
