package analyze

// A Scalar is one named figure of a result, for tables and comparisons.
type Scalar struct {
	Key    string // stable, e.g. "sag.dynamic_median_mm"
	Group  string // "Sag", "Travel", "Strokes", …
	Label  string // for people
	Unit   string // "mm", "mm/s", "s", "%", "Hz", "1/min", "" for counts and ratios
	Figure Figure
}

// Scalars lists every scalar figure of r, always in the same order.
func (r *Result) Scalars() []Scalar { return nil }
