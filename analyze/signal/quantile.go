package signal

// Quantiles returns the linear-interpolation quantiles (Hyndman & Fan type 7) of x at the probabilities p. It reorders
// x. An empty x gives NaNs. It takes expected linear time, so that long runs need no sort.
func Quantiles(x []float64, p ...float64) []float64 { panic("not written yet") }
