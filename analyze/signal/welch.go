package signal

import "math"

// A PSD is a one-sided power spectral density; bin k is at k·StepHz.
type PSD struct {
	StepHz  float64
	Density []float64 // units² of the input per Hz; n/2+1 bins, nil without a window
	Windows int       // averaged
}

// welchGroup is the number of windows whose sum a core makes alone. The sums of the groups are added in order, so that the
// result does not depend on the number of cores.
const welchGroup = 32

// Welch estimates the PSD of the segments together: Hann (periodic) windows of n samples, 50 % overlap, constant
// detrend, density scaling, averaged over all windows of all segments of at least n samples. Windows start every
// n − n/2 samples; what is left at the end of a segment is not used. All bins but 0 and, for an even n, that at half the rate
// hold the power of both signs of frequency. Where no segment holds a window, Windows is 0 and Density nil. Source: P. D.
// Welch, IEEE Trans. Audio Electroacoustics 15 (1967), cited from memory.
func Welch(segments [][]float64, rateHz float64, n int) PSD {
	if n < 1 {
		return PSD{}
	}
	psd := PSD{StepHz: rateHz / float64(n)}
	windows := windowStarts(segments, n)
	psd.Windows = len(windows)
	if len(windows) == 0 {
		return psd
	}
	hann, power := hannWindow(n)
	groups := (len(windows) + welchGroup - 1) / welchGroup
	sums := make([][]float64, groups)
	OnAllCores(groups, func() func(int) {
		w := welchWorker{hann: hann, in: make([]float64, n), out: make([]complex128, n/2+1), transform: newDFT(n)}
		return func(g int) {
			sums[g] = w.sum(windows[g*welchGroup : min(len(windows), (g+1)*welchGroup)])
		}
	})
	psd.Density = sums[0]
	for _, sum := range sums[1:] {
		for k, v := range sum {
			psd.Density[k] += v
		}
	}
	scale := 1 / (rateHz * power * float64(len(windows)))
	for k := range psd.Density {
		if k == 0 || 2*k == n {
			psd.Density[k] *= scale
		} else {
			psd.Density[k] *= 2 * scale
		}
	}
	return psd
}

// windowStarts lists the windows, each as a slice of its segment.
func windowStarts(segments [][]float64, n int) [][]float64 {
	var windows [][]float64
	for _, s := range segments {
		for at := 0; at+n <= len(s); at += n - n/2 {
			windows = append(windows, s[at:at+n])
		}
	}
	return windows
}

// hannWindow returns the periodic Hann window of n samples, (1 − cos(2πi/n))/2, and the sum of its squares.
func hannWindow(n int) (w []float64, power float64) {
	w = make([]float64, n)
	if n == 1 {
		w[0] = 1
		return w, 1
	}
	for i := range w {
		w[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
		power += w[i] * w[i]
	}
	return w, power
}

// welchWorker holds the buffers and the transform of one core.
type welchWorker struct {
	hann, in  []float64
	out       []complex128
	transform *dft
}

// sum adds the squared spectra of the windows.
func (w *welchWorker) sum(windows [][]float64) []float64 {
	total := make([]float64, len(w.out))
	for _, x := range windows {
		mean := 0.0
		for _, v := range x {
			mean += v
		}
		mean /= float64(len(x))
		for i, v := range x {
			w.in[i] = (v - mean) * w.hann[i]
		}
		w.transform.coefficients(w.out, w.in)
		for k, c := range w.out {
			total[k] += real(c)*real(c) + imag(c)*imag(c)
		}
	}
	return total
}
