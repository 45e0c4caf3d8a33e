package signal

import (
	"runtime"
	"slices"
	"testing"
)

// The number of cores must not change a bit.
func TestResultsDoNotDependOnCores(t *testing.T) {
	src := rideLike(150_000)
	f := LowPass{RateHz: 1000, CutoffHz: 100, Order: 4}
	run := func(cores int) (x, v, density []float64) {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(cores))
		x, v = apply(f, src)
		return x, v, Welch([][]float64{src[:70_000], src[70_000:]}, 1000, 1000).Density
	}
	x, v, density := run(1)
	for _, cores := range []int{2, 3, 8} {
		x2, v2, density2 := run(cores)
		if !slices.Equal(x, x2) || !slices.Equal(v, v2) || !slices.Equal(density, density2) {
			t.Errorf("%d cores: x the same %v, v %v, density %v", cores, slices.Equal(x, x2), slices.Equal(v, v2), slices.Equal(density, density2))
		}
	}
}

func TestOnAllCoresDoesEachJobOnce(t *testing.T) {
	for _, n := range []int{0, 1, 2, 1000} {
		done := make([]int, n)
		OnAllCores(n, func() func(int) { return func(job int) { done[job]++ } })
		if slices.ContainsFunc(done, func(times int) bool { return times != 1 }) {
			t.Errorf("%d jobs were done %v times", n, done)
		}
	}
}
