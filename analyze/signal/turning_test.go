package signal

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// All turning points but the first are the peaks and valleys whose prominence, by scipy.signal.find_peaks, is at least
// the gate.
func TestTurningPointsAgainstSciPy(t *testing.T) {
	ref := readReference(t)
	for _, c := range ref.Turning {
		x := ref.Travel
		if c.Walk {
			x = ref.Walk
		}
		var got []int
		for _, turn := range TurningPoints(x, c.Gate) {
			got = append(got, turn.Index)
		}
		if !slices.Equal(got, c.Indices) {
			t.Errorf("gate %g, walk %v:\ngot  %v\nwant %v", c.Gate, c.Walk, got, c.Indices)
		}
	}
}

func TestTurningPoints(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		name string
		x    []float64
		gate float64
		want []Turn
	}{
		{"empty", nil, 3, nil},
		{"one sample", []float64{5}, 3, nil},
		{"flat", []float64{5, 5, 5}, 3, nil},
		{"never departs by the gate", []float64{0, 2, 0, 2.9, 0}, 3, nil},
		{"rises by the gate exactly", []float64{1, 0, 3}, 3, []Turn{{1, 0, false}}},
		{"starts with a fall", []float64{4, 5, 2, 4}, 3, []Turn{{1, 5, true}}},
		{"wiggles under the gate", []float64{0, 4, 2, 6, 5, 7, 3.9, 5, 0}, 3, []Turn{{0, 0, false}, {5, 7, true}}},
		{"last one unconfirmed", []float64{0, 10, 0, 10, 8}, 3, []Turn{{0, 0, false}, {1, 10, true}, {2, 0, false}}},
		{"first of equal samples", []float64{2, 0, 0, 9, 9, 9, 0, 0, 9}, 3, []Turn{{1, 0, false}, {3, 9, true}, {6, 0, false}}},
		{"gate 0 finds every change", []float64{1, 1, 2, 1, 1, 3}, 0, []Turn{{0, 1, false}, {2, 2, true}, {3, 1, false}}},
		{"not a number", []float64{nan, 0, nan, 5, nan, 1, nan}, 3, []Turn{{1, 0, false}, {3, 5, true}}},
		{"only not a number", []float64{nan, nan}, 3, nil},
		{"ASTM E1049-85 figure 6", []float64{-2, 1, -3, 5, -1, 3, -4, 4, -2}, 1, []Turn{{0, -2, false}, {1, 1, true}, {2, -3, false},
			{3, 5, true}, {4, -1, false}, {5, 3, true}, {6, -4, false}, {7, 4, true}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := TurningPoints(c.x, c.gate); !slices.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// The definition, word for word and slowly: from each turning point look for the first sample that has come back by the gate from
// the extreme so far.
func definedTurns(x []float64, gate float64) []Turn {
	var turns []Turn
	from := 0
	for k := 0; k < len(x); k++ {
		so := x[from : k+1]
		low, high := slices.Min(so), slices.Max(so)
		wantPeak := len(turns) == 0 || !turns[len(turns)-1].Peak
		wantValley := len(turns) == 0 || turns[len(turns)-1].Peak
		switch {
		case wantPeak && high-x[k] >= gate:
			turns = append(turns, Turn{from + slices.Index(so, high), high, true})
		case wantValley && x[k]-low >= gate:
			turns = append(turns, Turn{from + slices.Index(so, low), low, false})
		default:
			continue
		}
		from = turns[len(turns)-1].Index
	}
	return turns
}

func TestTurningPointsProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		// Whole numbers: equal samples are common, and so is a way back of just the gate.
		x := make([]float64, rapid.IntRange(0, 120).Draw(t, "n"))
		for i := range x {
			x[i] = float64(rapid.IntRange(-8, 8).Draw(t, "x"))
		}
		gate := float64(rapid.IntRange(1, 9).Draw(t, "gate"))
		turns := TurningPoints(x, gate)
		if want := definedTurns(x, gate); !slices.Equal(turns, want) {
			t.Fatalf("gate %g of %v:\ngot  %v\nwant %v", gate, x, turns, want)
		}
		sum := 0.0
		for i, turn := range turns {
			if turn.Value != x[turn.Index] {
				t.Fatalf("%+v: the sample is %g", turn, x[turn.Index])
			}
			if i == 0 {
				continue
			}
			last, step := turns[i-1], turn.Value-turns[i-1].Value
			if turn.Index <= last.Index || turn.Peak == last.Peak || turn.Peak != (step > 0) || math.Abs(step) < gate {
				t.Fatalf("gate %g: %+v follows %+v", gate, turn, last)
			}
			if between := x[last.Index : turn.Index+1]; slices.Max(between) > max(last.Value, turn.Value) ||
				slices.Min(between) < min(last.Value, turn.Value) {
				t.Fatalf("x leaves the stroke from %+v to %+v: %v", last, turn, between)
			}
			sum += step
		}
		if n := len(turns); n > 0 && sum != turns[n-1].Value-turns[0].Value {
			t.Fatalf("strokes sum to %g, the ends differ by %g", sum, turns[n-1].Value-turns[0].Value)
		}
		for i := range x {
			x[i] = -x[i]
		}
		mirrored := TurningPoints(x, gate)
		for i, turn := range mirrored {
			mirrored[i] = Turn{turn.Index, -turn.Value, !turn.Peak}
		}
		if !slices.Equal(mirrored, turns) {
			t.Fatalf("upside down: got %v, want %v", mirrored, turns)
		}
	})
}

func TestCrossing(t *testing.T) {
	for _, c := range []struct{ a, b, level, want float64 }{
		{0, 10, 2.5, 0.25}, {10, 0, 2.5, 0.75}, {-50, 150, 100, 0.75}, {3, 3, 3, 0}, {3, 3, 9, 0},
		{0, 1, -1, 0}, {0, 1, 2, 1}, {5, 9, 5, 0}, {5, 9, 9, 1},
	} {
		t.Run(fmt.Sprint(c), func(t *testing.T) {
			if got := Crossing(c.a, c.b, c.level); got != c.want {
				t.Errorf("got %g, want %g", got, c.want)
			}
		})
	}
}
