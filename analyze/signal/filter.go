package signal

// LowPass is a zero-phase low-pass: the spectrum times |H(f)|² = 1/(1+(tan(πf/fs)/tan(πfc/fs))^(2n)), the squared
// magnitude of a digital Butterworth of order n by the bilinear transform, which is what forward-backward filtering gives.
type LowPass struct {
	RateHz   float64
	CutoffHz float64
	Order    int
}

// Apply writes the filtered src to x and its time derivative, in units of src per second, to v. All three have the
// same length; x may be src.
func (f LowPass) Apply(x, v, src []float64) { panic("not written yet") }
