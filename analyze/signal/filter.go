package signal

import (
	"fmt"
	"math"
)

// LowPass is a zero-phase low-pass: the spectrum times |H(f)|² = 1/(1+(tan(πf/fs)/tan(πfc/fs))^(2n)), the squared
// magnitude of a digital Butterworth of order n by the bilinear transform, which is what forward-backward filtering gives.
// The gain at the cutoff is one half (−6 dB).
type LowPass struct {
	RateHz   float64 // sample rate fs
	CutoffHz float64 // cutoff fc, from 1e-5·fs to 0.499·fs
	Order    int     // order n of the Butterworth, 1 to 12
}

// Limits of a LowPass that can be computed: the reach of the filter, and with it the memory, grows without bound towards
// either end of the band.
const (
	minCutoffShare = 1e-5 // of the sample rate
	maxCutoffShare = 0.499
	maxOrder       = 12
)

// Validate says whether the filter can be computed, and what to change where it cannot.
func (f LowPass) Validate() error {
	switch {
	case !(f.RateHz > 0) || math.IsInf(f.RateHz, 1):
		return fmt.Errorf("low-pass: sample rate %g Hz: it must be a number above 0", f.RateHz)
	case !(f.CutoffHz >= minCutoffShare*f.RateHz) || f.CutoffHz > maxCutoffShare*f.RateHz:
		return fmt.Errorf("low-pass: cutoff %g Hz at a sample rate of %g Hz: it must lie below half the rate, from %g to %g Hz",
			f.CutoffHz, f.RateHz, minCutoffShare*f.RateHz, maxCutoffShare*f.RateHz)
	case f.Order < 1 || f.Order > maxOrder:
		return fmt.Errorf("low-pass: order %d: it must lie in 1 to %d", f.Order, maxOrder)
	}
	return nil
}

// Apply writes the filtered src to x and its time derivative, in units of src per second, to v. All three have the
// same length. x may be src itself, but no two of them may overlap otherwise; v may be nil where it is not wanted. Samples
// must be finite: one that is not spoils the block around it.
//
// Beyond either end src goes on as its odd reflection about the end sample, again and again where src is short, as far as
// the filter reaches (its response has then fallen to 1e-14; at the usual cutoffs this is less than 20·fs/fc samples,
// so that a reflection of that length gives the same). The derivative is the spectral one, j2πf, with the bin at fs/2
// zero. Long input is filtered block by block on all cores; the result does not depend on their number.
//
// Apply panics if Validate fails or the lengths differ.
func (f LowPass) Apply(x, v, src []float64) {
	if err := f.Validate(); err != nil {
		panic(err)
	}
	if len(x) != len(src) || v != nil && len(v) != len(src) {
		panic(fmt.Sprintf("low-pass: lengths differ: x %d, v %d, src %d", len(x), len(v), len(src)))
	}
	if len(src) == 0 {
		return
	}
	newBlocks(f, len(src)).run(x, v, src)
}

// Gain is |H(f)|² at the frequency hz in 0..fs/2.
func (f LowPass) Gain(hz float64) float64 { return f.gain(hz, f.warped()) }

// gain is Gain, given warped.
func (f LowPass) gain(hz, warped float64) float64 {
	r := math.Tan(math.Pi*hz/f.RateHz) / warped
	power := 1.0
	for range f.Order {
		power *= r * r
	}
	return 1 / (1 + power)
}

// warped is the cutoff on the frequency axis of the bilinear transform, tan(πfc/fs).
func (f LowPass) warped() float64 { return math.Tan(math.Pi * f.CutoffHz / f.RateHz) }

// reach is the number of samples after which both responses of the filter are negligible. That of x falls with the pole
// nearest to the unit circle, z = (1+p)/(1−p) with p = tan(πfc/fs)·exp(jπ(1/2 + (2k+1)/(2n))): to 1e-14 at the reach. That of v
// has a second part, since j2πf changes sign at fs/2, where |H|² has a zero of order 2n only:
// 2π·fs·(2n)!·(π·tan(πfc/fs))^(2n)/(2πm)^(2n+1) after m samples, 1e-10 per second at the reach.
func (f LowPass) reach() int {
	w := f.warped()
	slowest := 0.0
	for k := range f.Order {
		sin, cos := math.Sincos(math.Pi * float64(2*k+1) / float64(2*f.Order))
		re, im := -w*sin, w*cos
		slowest = max(slowest, math.Hypot(1+re, im)/math.Hypot(1-re, im))
	}
	poles := math.Log(1e-14) / math.Log(max(slowest, 1e-14))
	order := float64(2 * f.Order)
	factorial, _ := math.Lgamma(order + 1)
	logTail := math.Log(2*math.Pi*f.RateHz/1e-10) + factorial + order*math.Log(math.Pi*w)
	edge := math.Exp(logTail/(order+1)) / (2 * math.Pi)
	return int(math.Ceil(max(poles, edge))) + 1
}
