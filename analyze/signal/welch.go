package signal

// A PSD is a one-sided power spectral density; bin k is at k·StepHz.
type PSD struct {
	StepHz  float64
	Density []float64 // units² of the input per Hz
	Windows int       // averaged
}

// Welch estimates the PSD of the segments together: Hann (periodic) windows of n samples, 50 % overlap, constant
// detrend, density scaling, averaged over all windows of all segments of at least n samples.
func Welch(segments [][]float64, rateHz float64, n int) PSD { panic("not written yet") }
