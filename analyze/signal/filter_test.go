package signal

import (
	"fmt"
	"math"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gonum.org/v1/gonum/dsp/fourier"
	"pgregory.net/rapid"
)

// Forward-backward filtering by scipy.signal.sosfiltfilt with the same odd reflection, ends included; its derivative there by
// interpolation and central differences, without j2πf. x within 1e-6 mm, v within 1e-3 mm/s.
func TestLowPassAgainstSciPy(t *testing.T) {
	ref := readReference(t)
	for _, c := range ref.LowPass {
		t.Run(fmt.Sprintf("order %d, %g of %g Hz", c.Order, c.CutoffHz, c.RateHz), func(t *testing.T) {
			x, v := apply(LowPass{RateHz: c.RateHz, CutoffHz: c.CutoffHz, Order: c.Order}, ref.Travel)
			if w := worst(t, x, c.X); w > 1e-6 {
				t.Errorf("x is off by %g mm", w)
			}
			if w := worst(t, v, c.V); w > 1e-3 {
				t.Errorf("v is off by %g mm/s", w)
			}
		})
	}
}

// The gains, by the formula and equal to scipy.signal.sosfreqz, of LowPass.Gain and of a long sine sent through Apply.
func TestLowPassGain(t *testing.T) {
	for _, c := range []struct {
		f    LowPass
		want [4]float64 // at fc/2, fc, 2fc, 4fc
	}{
		{LowPass{1000, 20, 4}, [4]float64{0.996139467816, 0.5, 0.00376998808975, 1.29969037202e-05}},
		{LowPass{1000, 50, 2}, [4]float64{0.942537416606, 0.5, 0.0534432149599, 0.00225333715718}},
		{LowPass{1000, 100, 4}, [4]float64{0.996822324382, 0.5, 0.00159744408946, 1.54318008474e-08}},
		{LowPass{500, 50, 4}, [4]float64{0.996822324382, 0.5, 0.00159744408946, 1.54318008474e-08}},
	} {
		for i, share := range []float64{0.5, 1, 2, 4} {
			hz := share * c.f.CutoffHz
			if got := c.f.Gain(hz); math.Abs(got-c.want[i]) > 1e-10 {
				t.Errorf("%+v: gain at %g Hz: got %.12g, want %.12g", c.f, hz, got, c.want[i])
			}
			x, v := apply(c.f, cosine(5000, c.f.RateHz, hz, 1, 0.3))
			middle := func(y []float64) float64 { return math.Sqrt2 * RMS(y[2000:3000]) } // whole periods
			if got := middle(x); math.Abs(got-c.want[i]) > 1e-10 {
				t.Errorf("%+v: a sine of %g Hz comes out at %.12g, want %.12g", c.f, hz, got, c.want[i])
			}
			if got := middle(v) / (2 * math.Pi * hz); math.Abs(got-c.want[i]) > 1e-10 {
				t.Errorf("%+v: the derivative of a sine of %g Hz comes out at %.12g, want %.12g", c.f, hz, got, c.want[i])
			}
		}
	}
}

// Two tones over several blocks: each keeps its phase and is scaled by the gain; closed form, away from the ends.
func TestLowPassTwoTones(t *testing.T) {
	f := LowPass{RateHz: 1000, CutoffHz: 100, Order: 4}
	const n, lowHz, highHz = 20_000, 2.3, 87.1
	src := add(cosine(n, 1000, lowHz, 50, 0.2), cosine(n, 1000, highHz, 5, 1.1))
	x, v := apply(f, src)
	wantX := add(cosine(n, 1000, lowHz, 50*f.Gain(lowHz), 0.2), cosine(n, 1000, highHz, 5*f.Gain(highHz), 1.1))
	wantV := add(cosine(n, 1000, lowHz, 50*f.Gain(lowHz)*2*math.Pi*lowHz, 0.2+math.Pi/2),
		cosine(n, 1000, highHz, 5*f.Gain(highHz)*2*math.Pi*highHz, 1.1+math.Pi/2))
	if w := worst(t, x[300:n-300], wantX[300:n-300]); w > 1e-10 {
		t.Errorf("x is off by %g mm", w)
	}
	if w := worst(t, v[300:n-300], wantV[300:n-300]); w > 1e-8 {
		t.Errorf("v is off by %g mm/s", w)
	}
}

// A chirp far below the cutoff passes unchanged, so that its velocity has a closed form.
func TestLowPassChirp(t *testing.T) {
	const n, fromHz, toHz = 12_000, 0.5, 6.0
	f := LowPass{RateHz: 1000, CutoffHz: 100, Order: 4}
	src, want := make([]float64, n), make([]float64, n)
	rise := (toHz - fromHz) / (n / 1000.0)
	for i := range src {
		s := float64(i) / 1000
		phase := 2 * math.Pi * (fromHz*s + rise*s*s/2)
		src[i] = 60 + 40*math.Sin(phase)
		want[i] = 40 * math.Cos(phase) * 2 * math.Pi * (fromHz + rise*s)
	}
	x, v := apply(f, src)
	if w := worst(t, x[300:n-300], src[300:n-300]); w > 1e-6 {
		t.Errorf("x is off by %g mm", w)
	}
	if w := worst(t, v[300:n-300], want[300:n-300]); w > 1e-3 {
		t.Errorf("v is off by %g mm/s", w)
	}
}

// What odd reflection leaves as it is, exactly: a straight line, to its very ends, and both end samples of any input.
func TestLowPassLinesAndEnds(t *testing.T) {
	for _, n := range []int{1, 2, 3, 50, 4000, 9000} {
		line := make([]float64, n)
		for i := range line {
			line[i] = 30 + 0.01*float64(i)
		}
		for _, fc := range []float64{0.7, 100, 400} {
			f := LowPass{RateHz: 1000, CutoffHz: fc, Order: 4}
			x, v := apply(f, line)
			slope := 10.0 // mm/s
			if n == 1 {
				slope = 0
			}
			for i := range line {
				if math.Abs(x[i]-line[i]) > 1e-9 || math.Abs(v[i]-slope) > 1e-6 {
					t.Fatalf("%d samples, %g Hz: line comes out as %g at %g mm/s in %d, want %g at %g mm/s", n, fc, x[i], v[i], i, line[i], slope)
				}
			}
			src := rideLike(n)
			x, _ = apply(f, src)
			if d := max(math.Abs(x[0]-src[0]), math.Abs(x[n-1]-src[n-1])); d > 1e-9 {
				t.Errorf("%d samples, %g Hz: an end sample moved by %g", n, fc, d)
			}
		}
	}
}

// Lengths about the borders of blocks and of groups of blocks, and tiny ones, against one transform over everything; in
// place, and with one core, the same bits.
func TestLowPassBlocksEqualWhole(t *testing.T) {
	for k, f := range []LowPass{{1000, 100, 4}, {1000, 200, 4}, {500, 20, 2}, {1000, 30, 1}, {1000, 5, 12}, {1000, 480, 4}} {
		b := newBlocks(f, math.MaxInt32)
		for _, n := range []int{1, 2, 3, 10, b.reach, b.step, b.step + 1, b.size - 1, b.size, b.size + 1, 2*b.step - 1, 2 * b.step, 2*b.step + 1,
			40*b.step + b.reach, 48*b.step + 1} {
			if k > 0 && n > 30_000 {
				continue // one filter serves for groups of blocks
			}
			src := rideLike(n)
			x, v := apply(f, src)
			wantX, wantV := wholeLowPass(f, src)
			if wx, wv := worst(t, x, wantX), worst(t, v, wantV); wx > 1e-9 || wv > 1e-5 {
				t.Errorf("%+v, %d samples: x is off by %g mm, v by %g mm/s", f, n, wx, wv)
			}
			alone := make([]float64, n)
			f.Apply(alone, nil, src)
			if w := worst(t, alone, x); w > 1e-9 {
				t.Errorf("%+v, %d samples: without velocity x is off by %g mm", f, n, w)
			}
			inPlace := slices.Clone(src)
			f.Apply(inPlace, v, inPlace)
			if !slices.Equal(inPlace, x) {
				t.Errorf("%+v, %d samples: in place x differs", f, n)
			}
		}
	}
}

// wholeLowPass is the definition: reflect, one transform of all, |H|² and j2πf on the spectrum, two inverse transforms.
// The reflection is generous, so that the wrap from end to end is not felt.
func wholeLowPass(f LowPass, src []float64) (x, v []float64) {
	const pad = 10_000
	ext, at := slices.Clone(src), 0 // src starts at ext[at]
	for at < pad {
		ext, at = reflectBoth(ext), at+max(1, len(ext)-1)
	}
	ext, at = ext[at-pad:min(len(ext), at+len(src)+pad)], pad
	for bits.OnesCount(uint(len(ext))) != 1 {
		ext = append(ext, ext[len(ext)-1])
	}
	n := len(ext)
	fft := fourier.NewFFT(n)
	coefficients := fft.Coefficients(nil, ext)
	derivative := make([]complex128, len(coefficients))
	for k := range coefficients {
		hz := fft.Freq(k) * f.RateHz
		ratio := math.Tan(math.Pi*hz/f.RateHz) / math.Tan(math.Pi*f.CutoffHz/f.RateHz)
		coefficients[k] *= complex(1/(1+math.Pow(ratio, float64(2*f.Order)))/float64(n), 0)
		if k < n/2 {
			derivative[k] = coefficients[k] * complex(0, 2*math.Pi*hz)
		}
	}
	x, v = fft.Sequence(nil, coefficients), fft.Sequence(nil, derivative)
	return x[at : at+len(src)], v[at : at+len(src)]
}

// reflectBoth is x with all of its odd reflection about either end.
func reflectBoth(x []float64) []float64 {
	last := len(x) - 1
	if last == 0 {
		return []float64{x[0], x[0], x[0]}
	}
	var ext []float64
	for i := last; i > 0; i-- {
		ext = append(ext, 2*x[0]-x[i])
	}
	ext = append(ext, x...)
	for i := last - 1; i >= 0; i-- {
		ext = append(ext, 2*x[last]-x[i])
	}
	return ext
}

// What the number of cores, the direction of time, sums and factors must not change.
func TestLowPassProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := LowPass{
			RateHz:   rapid.Float64Range(50, 3000).Draw(t, "rate"),
			CutoffHz: 0,
			Order:    rapid.IntRange(2, 6).Draw(t, "order"),
		}
		f.CutoffHz = f.RateHz * rapid.Float64Range(0.01, 0.4).Draw(t, "cutoff share")
		n := rapid.IntRange(1, 12_000).Draw(t, "n")
		r := rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 1))
		a, b := make([]float64, n), make([]float64, n)
		for i := range a {
			a[i], b[i] = 100*r.Float64(), 10*r.NormFloat64()
		}
		xa, va := apply(f, a)
		xb, vb := apply(f, b)
		sum := make([]float64, n)
		for i := range sum {
			sum[i] = 2*a[i] - 3*b[i]
		}
		xs, vs := apply(f, sum)
		slices.Reverse(a)
		xr, vr := apply(f, a)
		for i := range sum {
			if d := math.Abs(xs[i] - (2*xa[i] - 3*xb[i])); d > 1e-9 {
				t.Fatalf("x of a sum is off by %g in sample %d", d, i)
			}
			if d := math.Abs(vs[i] - (2*va[i] - 3*vb[i])); d > 1e-4 {
				t.Fatalf("v of a sum is off by %g in sample %d", d, i)
			}
			if d := math.Abs(xr[n-1-i] - xa[i]); d > 1e-9 {
				t.Fatalf("x backwards is off by %g in sample %d", d, i)
			}
			if d := math.Abs(vr[n-1-i] + va[i]); d > 1e-4 {
				t.Fatalf("v backwards is off by %g in sample %d", d, i)
			}
		}
	})
}

func TestLowPassValidate(t *testing.T) {
	for _, c := range []struct {
		f    LowPass
		want string // part of the error, empty for none
	}{
		{LowPass{1000, 100, 4}, ""},
		{LowPass{1000, 499, 12}, ""},
		{LowPass{1000, 0.01, 1}, ""},
		{LowPass{1000, 500, 4}, "below half the rate"},
		{LowPass{1000, 0, 4}, "cutoff 0 Hz"},
		{LowPass{1000, -1, 4}, "cutoff -1 Hz"},
		{LowPass{1000, math.NaN(), 4}, "cutoff NaN Hz"},
		{LowPass{1000, 0.009, 4}, "from 0.01 to 499 Hz"},
		{LowPass{0, 100, 4}, "sample rate 0 Hz"},
		{LowPass{math.NaN(), 100, 4}, "sample rate NaN Hz"},
		{LowPass{math.Inf(1), 100, 4}, "sample rate +Inf Hz"},
		{LowPass{1000, 100, 0}, "order 0"},
		{LowPass{1000, 100, 13}, "order 13"},
	} {
		err := c.f.Validate()
		if (err == nil) != (c.want == "") || err != nil && !strings.Contains(err.Error(), c.want) {
			t.Errorf("%+v: got error %v, want one with %q", c.f, err, c.want)
		}
	}
}

func TestGoodLength(t *testing.T) {
	for n, want := range map[int]int{1: 2, 3: 4, 288: 288, 289: 320, 4096: 4096, 4097: 4608, 5000: 5120, 7000: 7680, 65_537: 73_728} {
		if got := goodLength(n); got != want {
			t.Errorf("at least %d: got %d, want %d", n, got, want)
		}
	}
}

// apply filters a copy.
func apply(f LowPass, src []float64) (x, v []float64) {
	x, v = make([]float64, len(src)), make([]float64, len(src))
	f.Apply(x, v, src)
	return x, v
}

func cosine(n int, rateHz, hz, amplitude, phase float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = amplitude * math.Cos(2*math.Pi*hz*float64(i)/rateHz+phase)
	}
	return x
}

func add(a, b []float64) []float64 {
	sum := make([]float64, len(a))
	for i := range a {
		sum[i] = a[i] + b[i]
	}
	return sum
}
