package report

import (
	"fmt"
	"strings"
	"sync"
	"testing"

	"stanchion/analyze"
	"stanchion/analyze/compare"
)

// ridden are runs of one trail by rebound damping, analysed once: four with the usual, four with the slower rebound and more for a sweep.
var ridden = sync.OnceValue(func() map[string]compare.Run {
	out := map[string]compare.Run{}
	add := func(name string, seed uint64, rebound float64) {
		d := rider{seconds: 44, rate: 500, source: name + ".csv", fork: "Test fork", again: seed, rebound: rebound}
		opt := analyze.DefaultOptions()
		opt.BootstrapN = 50
		r, s, err := analyze.Run(d.trace(), opt)
		if err != nil {
			panic(err)
		}
		out[name] = compare.Run{Name: name, Result: r, Signals: s}
	}
	for i := range 3 {
		add(fmt.Sprint("a", i+1), uint64(i+1), 1)
		add(fmt.Sprint("b", i+1), uint64(i+11), 2.5)
	}
	for i, clicks := range sweepClicks {
		add(fmt.Sprint("s", i+1), uint64(i+21), 2-0.14*min(clicks, 7))
	}
	return out
})

// sweepClicks are the positions of the sweep's runs, in the order ridden; from 7 clicks on the adjuster does nothing.
var sweepClicks = []float64{5, 1, 9, 3, 7, 1, 9, 5, 7, 3}

// compared compares the first n runs of each setting.
func compared(t testing.TB, n int, change func(a, b []compare.Run)) (*compare.Comparison, Sets) {
	t.Helper()
	var s Sets
	for i := range n {
		s.A = append(s.A, ridden()[fmt.Sprint("a", i+1)])
		s.B = append(s.B, ridden()[fmt.Sprint("b", i+1)])
	}
	for i := range n {
		s.A[i].Order, s.B[i].Order = 2*i+1, 2*i+2
		s.A[i].Settings, s.B[i].Settings = map[string]string{"rebound": "9"}, map[string]string{"rebound": "6"}
	}
	if change != nil {
		change(s.A, s.B)
	}
	opt := compare.DefaultOptions()
	opt.Varied, opt.Resamples = []string{"rebound"}, 300
	c, err := compare.Compare(s.A, s.B, opt)
	if err != nil {
		t.Fatal(err)
	}
	return c, s
}

// swept sweeps the rebound adjuster.
func swept(t testing.TB, name string, kind compare.Kind) *compare.SweepResult {
	t.Helper()
	var runs []compare.SweepRun
	for i, clicks := range sweepClicks {
		r := ridden()[fmt.Sprint("s", i+1)]
		r.Order, r.Settings = i+1, map[string]string{name: fmt.Sprint(clicks)}
		runs = append(runs, compare.SweepRun{Run: r, Clicks: clicks})
	}
	opt := compare.DefaultSweepOptions()
	opt.Varied = []string{name}
	s, err := compare.Sweep(runs, compare.Adjuster{Name: name, Kind: kind}, opt)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// written is what write writes.
func written(t testing.TB, write func(*strings.Builder) error) string {
	t.Helper()
	var b strings.Builder
	if err := write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func comparisonPage(t testing.TB, c *compare.Comparison, s Sets) string {
	return written(t, func(b *strings.Builder) error { return CompareHTML(b, c, s, HTMLOptions{}) })
}

func sweepsPage(t testing.TB, s ...*compare.SweepResult) string {
	return written(t, func(b *strings.Builder) error { return SweepHTML(b, s, HTMLOptions{}) })
}
