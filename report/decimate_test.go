package report

import (
	"encoding/base64"
	"encoding/binary"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestMinMaxKeepsEveryPeak(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-50, 250), 1, 300).Draw(t, "x")
		n := rapid.IntRange(1, 40).Draw(t, "n")
		got := minMax(nil, x, n)
		if n == 1 {
			if !slices.Equal(got, x) {
				t.Fatalf("buckets of one change the signal")
			}
			return
		}
		if want := 2 * ((len(x) + n - 1) / n); len(got) != want {
			t.Fatalf("%d values, want %d", len(got), want)
		}
		for b := 0; b*n < len(x); b++ {
			bucket, pair := x[b*n:min(len(x), (b+1)*n)], got[2*b:2*b+2]
			if slices.Min(bucket) != slices.Min(pair) || slices.Max(bucket) != slices.Max(pair) {
				t.Fatalf("bucket %d: %v became %v", b, bucket, pair)
			}
			if i, j := slices.Index(bucket, pair[0]), slices.Index(bucket, pair[1]); i > j {
				t.Fatalf("bucket %d: %v out of order in %v", b, pair, bucket)
			}
		}
	})
}

func TestPackRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.SliceOfN(rapid.Float64Range(-20000, 20000), 0, 5000).Draw(t, "x")
		step := packScale(0.01, x)
		var b strings.Builder
		if err := pack(&b, x, step); err != nil {
			t.Fatal(err)
		}
		raw, err := base64.StdEncoding.DecodeString(b.String())
		if err != nil || len(raw) != 2*len(x) {
			t.Fatalf("%d bytes for %d values: %v", len(raw), len(x), err)
		}
		for i, want := range x {
			got := float64(int16(binary.LittleEndian.Uint16(raw[2*i:]))) * step
			if math.Abs(got-want) > step/2*1.0001 {
				t.Fatalf("value %d: %g became %g with step %g", i, want, got, step)
			}
		}
	})
}

func TestPackScaleFitsInt16(t *testing.T) {
	for _, c := range []struct{ largest, want float64 }{{0, 0.01}, {300, 0.01}, {400, 0.02}, {1000, 0.05}, {3000, 0.1}} {
		if got := packScale(0.01, []float64{-c.largest}); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("step for %g is %g, want %g", c.largest, got, c.want)
		}
	}
}
