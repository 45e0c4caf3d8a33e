package signal

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// scipy.signal.welch on odd and even n, and on three segments of which one is too short, averaged by windows.
func TestWelchAgainstSciPy(t *testing.T) {
	ref := readReference(t)
	for _, c := range ref.Welch {
		segments := [][]float64{ref.Travel}
		if c.Cut != nil {
			segments = [][]float64{ref.Travel[:c.Cut[0]], ref.Travel[c.Cut[0]:c.Cut[1]], ref.Travel[c.Cut[1]:]}
		}
		t.Run(fmt.Sprintf("n %d, %d segments", c.N, len(segments)), func(t *testing.T) {
			psd := Welch(segments, 1000, c.N)
			if psd.Windows != c.Windows || psd.StepHz != 1000/float64(c.N) {
				t.Errorf("%d windows, step %g Hz; want %d, %g Hz", psd.Windows, psd.StepHz, c.Windows, 1000/float64(c.N))
			}
			sameDensity(t, psd.Density, c.Density, 1e-10)
		})
	}
}

// Published values: the tests of scipy.signal.welch (test_spectral.py, TestWelch).
func TestWelchPublished(t *testing.T) {
	x := make([]float64, 16)
	x[0], x[8] = 1, 1
	sameDensity(t, Welch([][]float64{x}, 1, 8).Density, []float64{.08333333, .15277778, .22222222, .22222222, .11111111}, 1e-7)
	sameDensity(t, Welch([][]float64{x}, 1, 9).Density, []float64{.12477455, .23430933, .17072113, .17072113, .17072113}, 1e-7)
}

// Closed form: a sine of amplitude 3 in the middle of a bin has the mean square 4.5, spread as 1:4:1 over three bins
// by the Hann window.
func TestWelchSine(t *testing.T) {
	psd := Welch([][]float64{cosine(8192, 1024, 100, 3, -math.Pi/2)}, 1024, 1024)
	sum := 0.0
	for k, d := range psd.Density {
		sum += d * psd.StepHz
		want := map[int]float64{99: 0.75, 100: 3, 101: 0.75}[k]
		if math.Abs(d-want) > 1e-9 {
			t.Errorf("bin %d: got %g, want %g", k, d, want)
		}
	}
	if math.Abs(sum-4.5) > 1e-9 {
		t.Errorf("the density holds %g, want 4.5", sum)
	}
}

// Parseval: the density holds the mean square of the windowed samples, whatever n is; n with large prime factors go another
// way.
func TestWelchParseval(t *testing.T) {
	x := rideLike(3000)
	for _, n := range []int{1, 2, 3, 8, 9, 257, 514, 1000, 1009, 2999, 3000} {
		psd := Welch([][]float64{x}, 250, n)
		got := 0.0
		for _, d := range psd.Density {
			got += d * psd.StepHz
		}
		want, windows := 0.0, 0
		for at := 0; at+n <= len(x); at += n - n/2 {
			mean, power, weight := 0.0, 0.0, 0.0
			for _, v := range x[at : at+n] {
				mean += v / float64(n)
			}
			for i, v := range x[at : at+n] {
				s := math.Sin(math.Pi * float64(i) / float64(n))
				power += (v - mean) * (v - mean) * s * s * s * s
				weight += s * s * s * s
			}
			if n > 1 {
				want += power / weight
			}
			windows++
		}
		want /= float64(windows)
		if psd.Windows != windows || len(psd.Density) != n/2+1 {
			t.Errorf("n %d: %d windows of %d bins, want %d of %d", n, psd.Windows, len(psd.Density), windows, n/2+1)
		}
		if math.Abs(got-want) > 1e-10*max(1, want) {
			t.Errorf("n %d: the density holds %g, want %g", n, got, want)
		}
	}
}

// White noise of variance s² has the one-sided density 2s²/fs; 3 % as in the example of scipy.signal.welch.
func TestWelchWhiteNoise(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	x := make([]float64, 100_000)
	for i := range x {
		x[i] = math.Sqrt(0.001*10_000/2) * r.NormFloat64()
	}
	psd := Welch([][]float64{x}, 10_000, 1024)
	mean := 0.0
	for _, d := range psd.Density[256:] {
		mean += d / float64(len(psd.Density[256:]))
	}
	if math.Abs(mean-1e-3) > 0.03e-3 {
		t.Errorf("mean density %g, want 0.001", mean)
	}
}

func TestWelchWithoutWindow(t *testing.T) {
	for _, c := range []struct {
		segments [][]float64
		n        int
	}{{nil, 8}, {[][]float64{}, 8}, {[][]float64{nil, make([]float64, 7)}, 8}, {[][]float64{make([]float64, 7)}, 0}, {nil, -1}} {
		if psd := Welch(c.segments, 1000, c.n); psd.Windows != 0 || psd.Density != nil {
			t.Errorf("%d segments, n %d: got %+v, want no window and no density", len(c.segments), c.n, psd)
		}
	}
}

// The transform against the sum that defines it.
func TestDFT(t *testing.T) {
	for _, n := range []int{1, 2, 7, 64, 257, 263, 526, 789, 1009} {
		x := rideLike(n)
		got := make([]complex128, n/2+1)
		newDFT(n).coefficients(got, x)
		for k := range got {
			var want complex128
			for l, v := range x {
				want += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(k*l%n)/float64(n))
			}
			if d := cmplx.Abs(got[k] - want); d > 1e-13*float64(n)*100 {
				t.Fatalf("n %d: coefficient %d is off by %g", n, k, d)
			}
		}
	}
}

func TestLargestFactor(t *testing.T) {
	for n, want := range map[int]int{1: 1, 2: 2, 4: 2, 12: 3, 997: 997, 3988: 997, 4000: 5, 1 << 20: 2, 49: 7, 3 * 31 * 43: 43} {
		if got := largestFactor(n); got != want {
			t.Errorf("largest prime factor of %d: got %d, want %d", n, got, want)
		}
	}
}

func sameDensity(t *testing.T, got, want []float64, tolerance float64) {
	t.Helper()
	if len(got) != len(want) {
		t.Fatalf("%d bins, want %d", len(got), len(want))
	}
	for k := range want {
		if math.Abs(got[k]-want[k]) > tolerance*max(1, want[k]) || got[k] != got[k] {
			t.Errorf("bin %d: got %.12g, want %.12g", k, got[k], want[k])
		}
	}
}
