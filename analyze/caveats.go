package analyze

// caveats gathers what a person must know before trusting the figures.
func (r *ride) caveats(res *Result) []Caveat { return nil }
