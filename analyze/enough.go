package analyze

import "fmt"

// fewPrefix begins the caveat of a figure that rests on few events.
const fewPrefix = "rests on only "

// enough is a figure over n events of a kind: absent where they are fewer than Options.EventsMin, with a caveat where
// they are fewer than Options.EventsFew.
func (r *ride) enough(n int, what string, value func() float64) Figure {
	switch {
	case r.all.n == 0:
		return Absent(noRiding)
	case n == 0:
		return Absent("no %s while riding", what)
	case n < r.opt.EventsMin:
		return Absent("only %d of the %d %ss that it needs", n, r.opt.EventsMin, what)
	case n < r.opt.EventsFew:
		return Value(value(), n, fmt.Sprintf("%s%d %ss", fewPrefix, n, what))
	}
	return Value(value(), n)
}

// mean is the arithmetic mean of a; a must not be empty.
func mean(a []float64) float64 {
	sum := 0.0
	for _, v := range a {
		sum += v
	}
	return sum / float64(len(a))
}

// with is f with more caveats, where it has a value.
func (f Figure) with(caveats []string) Figure {
	if f.present {
		f.caveats = append(f.caveats[:len(f.caveats):len(f.caveats)], caveats...)
	}
	return f
}
