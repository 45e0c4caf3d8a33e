package signal

import (
	"cmp"
	"maps"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// ASTM E1049-85 §5.4.4, figure 6: every pair in the order of the standard. The values are those of the tests of the Python
// package rainflow; the figure itself was not read.
func TestRainflowStandard(t *testing.T) {
	want := []Cycle{
		{3, -0.5, 0.5, 0, 1}, {4, -1, 0.5, 1, 2}, {4, 1, 1, 4, 5}, {8, 1, 0.5, 2, 3}, {9, 0.5, 0.5, 3, 6}, {8, 0, 0.5, 6, 7}, {6, 1, 0.5, 7, 8},
	}
	if got := Rainflow([]float64{-2, 1, -3, 5, -1, 3, -4, 4, -2}); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

func TestRainflowTotals(t *testing.T) {
	for _, c := range []struct {
		name   string
		points []float64
		want   map[float64]float64
	}{
		{"figure 6", []float64{-2, 1, -3, 5, -1, 3, -4, 4, -2}, map[float64]float64{3: 0.5, 4: 1.5, 6: 0.5, 8: 1, 9: 0.5}},
		{"from the maximum, §5.4.5", []float64{5, -1, 3, -4, 4, -2, 1, -3, 5}, map[float64]float64{3: 1, 4: 1, 7: 1, 9: 1}},
		{"tests of the Python package rainflow",
			[]float64{-1.5, 1, -3, 10, -1, 3, -8, 4, -2, 6, -1, -4, -8, 2, 1, -5, 0, 2.5, -4, 1, 0, 2, -0.5},
			map[float64]float64{1: 1, 2.5: 1, 4: 1.5, 6: 1.5, 6.5: 0.5, 7: 1, 10.5: 0.5, 13: 0.5, 14: 1, 18: 0.5}},
		{"steady", []float64{0, 1, 0, 1, 0, 1, 0}, map[float64]float64{1: 3}},
		{"two points", []float64{4, 1}, map[float64]float64{3: 0.5}},
		{"one point", []float64{4}, map[float64]float64{}},
		{"no points", nil, map[float64]float64{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := totals(Rainflow(alternating(c.points))); !maps.Equal(got, c.want) {
				t.Errorf("got %v, want %v", got, c.want)
			}
		})
	}
}

// The rule by hand where ranges are equal: X ≥ Y counts Y, so that 3–1 closes when x is back at 3.
func TestRainflowEqualRanges(t *testing.T) {
	want := []Cycle{{2, 2, 1, 2, 3}, {5, 2.5, 0.5, 0, 1}, {3, 1.5, 0.5, 1, 4}}
	if got := Rainflow([]float64{5, 0, 3, 1, 3}); !slices.Equal(got, want) {
		t.Errorf("got %v, want %v", got, want)
	}
}

// Another way to the same cycles: take out every inner pair of four points whose range neither neighbour undercuts, then
// count what is left as half cycles.
func fourPointCycles(points []float64) []Cycle {
	type point struct {
		value float64
		index int
	}
	var left []point
	for i, v := range points {
		left = append(left, point{v, i})
	}
	span := func(i int) float64 { return math.Abs(left[i+1].value - left[i].value) }
	cycle := func(i int, n float64) Cycle {
		return Cycle{span(i), (left[i].value + left[i+1].value) / 2, n, left[i].index, left[i+1].index}
	}
	var cycles []Cycle
	for again := true; again; {
		again = false
		for i := 0; i+3 < len(left); i++ {
			if span(i+1) <= span(i) && span(i+1) <= span(i+2) {
				cycles = append(cycles, cycle(i+1, 1))
				left = slices.Delete(left, i+1, i+3)
				again = true
				break
			}
		}
	}
	for i := 0; i+1 < len(left); i++ {
		cycles = append(cycles, cycle(i, 0.5))
	}
	return cycles
}

func TestRainflowProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := make([]float64, rapid.IntRange(0, 120).Draw(t, "n"))
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		for i := range points {
			points[i] = 50 * r.NormFloat64() // no two ranges are equal
		}
		points = alternating(points)
		got := Rainflow(points)
		sum := 0.0
		for _, c := range got {
			sum += c.Count
		}
		if want := float64(max(0, len(points)-1)) / 2; sum != want {
			t.Fatalf("counts sum to %g, want %g", sum, want)
		}
		want := fourPointCycles(points)
		byStart := func(a, b Cycle) int { return cmp.Compare(a.Start, b.Start) }
		slices.SortFunc(got, byStart)
		slices.SortFunc(want, byStart)
		if !slices.Equal(got, want) {
			t.Fatalf("%v:\ngot  %v\nwant %v", points, got, want)
		}
	})
}

// With equal ranges the two ways may pair other points, but the totals are the same.
func TestRainflowTies(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		points := make([]float64, rapid.IntRange(0, 60).Draw(t, "n"))
		for i := range points {
			points[i] = float64(rapid.IntRange(-3, 3).Draw(t, "point"))
		}
		points = alternating(points)
		if got, want := totals(Rainflow(points)), totals(fourPointCycles(points)); !maps.Equal(got, want) {
			t.Fatalf("%v: got %v, want %v", points, got, want)
		}
	})
}

// alternating keeps the end points and the points at which x changes its direction.
func alternating(x []float64) []float64 {
	var points []float64
	for _, v := range x {
		n := len(points)
		switch {
		case n > 0 && v == points[n-1]:
		case n > 1 && (v > points[n-1]) == (points[n-1] > points[n-2]):
			points[n-1] = v
		default:
			points = append(points, v)
		}
	}
	return points
}

func totals(cycles []Cycle) map[float64]float64 {
	sums := map[float64]float64{}
	for _, c := range cycles {
		sums[c.Range] += c.Count
	}
	return sums
}
