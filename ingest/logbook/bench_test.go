package logbook

import (
	"database/sql"
	"fmt"
	"testing"
	"time"
)

// bookOf makes a book of n runs with 110 figures each, without recordings.
func bookOf(b *testing.B, n int) *Logbook {
	book := newBook(b)
	err := book.change(b.Context(), func(tx *sql.Tx) error {
		for i := range n {
			e := entry{Run: Run{Hash: fmt.Sprintf("%064x", i), File: "r.csv", Name: fmt.Sprintf("run %d", i), Fork: testFork, Trail: fmt.Sprintf("trail %d", i%7),
				Session: fmt.Sprintf("day %d", i/20), RiddenAt: noon.Add(time.Duration(i) * time.Hour), AddedAt: noon, RidingS: 240, DurationS: 300,
				Setup: Setup{PressurePSI: ptr(float64(70 + i%30)), Clicks: map[string]float64{"rebound": float64(i % 12), "lsc": float64(i % 9)}}}}
			for k := range 110 {
				e.Figures = append(e.Figures, Figure{Key: fmt.Sprintf("group.figure_%d", k), Value: ptr(float64(i * k)), N: 1})
			}
			if _, err := insertRun(b.Context(), tx, &e); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	return book
}

func BenchmarkTenThousandRuns(b *testing.B) {
	book := bookOf(b, 10000)
	b.Run("List", func(b *testing.B) {
		for b.Loop() {
			if runs, err := book.Runs(b.Context(), Query{}); err != nil || len(runs) != 10000 {
				b.Fatal(len(runs), err)
			}
		}
	})
	b.Run("ListOpening", func(b *testing.B) {
		for b.Loop() {
			again, err := Open(b.Context(), book.dir)
			if err != nil {
				b.Fatal(err)
			}
			if runs, err := again.Runs(b.Context(), Query{}); err != nil || len(runs) != 10000 {
				b.Fatal(len(runs), err)
			}
			again.Close()
		}
	})
	b.Run("Trend", func(b *testing.B) {
		for b.Loop() {
			if t, err := book.Trend(b.Context(), "group.figure_50", Query{}); err != nil || len(t.Points) != 10000 {
				b.Fatal(len(t.Points), err)
			}
		}
	})
	b.Run("Vary", func(b *testing.B) {
		runs, err := book.Runs(b.Context(), Query{})
		if err != nil {
			b.Fatal(err)
		}
		for b.Loop() {
			Vary(runs, "clicks.rebound")
		}
	})
}
