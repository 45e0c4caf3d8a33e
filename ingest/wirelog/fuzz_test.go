package wirelog

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"stanchion/firmware-protocol/wire"
	"stanchion/ingest"
)

// sound fails where a recording is not one that ingest.Prepare may be given.
func sound(t interface{ Fatalf(string, ...any) }, rec *ingest.Recording) {
	n := len(rec.Travel)
	if n == 0 || len(rec.Stamps) != n || rec.Rows.Data < n {
		t.Fatalf("%d readings, %d stamps, %d rows", n, len(rec.Stamps), rec.Rows.Data)
	}
	for _, s := range rec.Stamps {
		if math.IsNaN(s) || math.IsInf(s, 0) {
			t.Fatalf("a stamp is %g", s)
		}
	}
	for _, c := range rec.Extra {
		if len(c.Values) != n {
			t.Fatalf("channel %q has %d values beside %d readings", c.Name, len(c.Values), n)
		}
	}
	for _, m := range rec.Markers {
		if m.Sample < 0 || m.Sample >= n {
			t.Fatalf("a marker is at sample %d of %d", m.Sample, n)
		}
	}
}

// Any bytes are read or refused.
func FuzzRead(f *testing.F) {
	l := newLog(f)
	l.send(&wire.HostNote{Kind: wire.NoteTool, Text: "test"})
	l.session(4)
	l.samples(2)
	l.send(&wire.HostTime{UnixUS: 5_000_000})
	l.send(&wire.Mark{Label: wire.LabelGate})
	l.send(&wire.HostGap{UnixUS: 5_000_000, DurationUS: 1000, Cause: wire.GapUnplugged})
	l.session(5)
	l.samples(2)
	f.Add(l.b)
	f.Add([]byte("1000,10,0.5\n2000,11,0.5\n3000,12,0.5\n"))
	f.Add([]byte("t,travel [mm]\n1,2\n1000,10\n2000,11.5\n\x00\x013000,12\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		if rec, err := readBytes(b); err == nil {
			sound(t, rec)
		}
	})
}

// Whatever happens to a log on its way, each sample that is read is one that was sent, at its own time.
func TestDamagedLogTellsNoLies(t *testing.T) {
	l := newLog(t)
	l.session(4)
	l.samples(40)
	whole := l.b
	rapid.Check(t, func(t *rapid.T) {
		b := append([]byte(nil), whole...)
		for range rapid.IntRange(1, 20).Draw(t, "faults") {
			at := rapid.IntRange(0, len(b)-1).Draw(t, "at")
			n := min(rapid.IntRange(1, 300).Draw(t, "n"), len(b)-at)
			switch rapid.IntRange(0, 3).Draw(t, "kind") {
			case 0:
				b[at] ^= byte(n)
			case 1: // cut out
				b = append(b[:at:at], b[at+n:]...)
			case 2: // twice
				b = append(b[:at+n:at+n], b[at:]...)
			case 3: // torn off
				b = b[:max(at, 1)]
			}
			if len(b) == 0 {
				return
			}
		}
		rec, err := readBytes(b)
		if err != nil {
			return
		}
		sound(t, rec)
		for i, v := range rec.Travel {
			if rec.Stamps[i] != 1000+1000*v {
				t.Fatalf("sample %d reads %g at %g µs, which was never sent", i, v, rec.Stamps[i])
			}
			if i > 0 && v <= rec.Travel[i-1] {
				t.Fatalf("sample %d reads %g after %g", i, v, rec.Travel[i-1])
			}
		}
	})
}
