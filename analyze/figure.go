package analyze

import (
	"encoding/json"
	"fmt"
	"math"
)

// A Figure is one number about a run: its value, how many observations it rests on, and why it may mislead.
// The unit is in the name of the field that holds it. A figure that could not be computed carries the reason
// instead of a value; it is never zero or NaN in its place. The zero Figure is absent without a reason.
type Figure struct {
	value   float64
	n       int
	present bool
	absent  string
	caveats []string
}

// Value makes a figure that rests on n observations. A value that is not finite makes an absent figure.
func Value(v float64, n int, caveats ...string) Figure {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return Absent("not a finite number")
	}
	return Figure{value: v, n: n, present: true, caveats: caveats}
}

// Absent makes a figure that could not be computed. The reason is a short clause for people: "fewer than 5 strokes".
func Absent(reason string, args ...any) Figure {
	if len(args) > 0 {
		reason = fmt.Sprintf(reason, args...)
	}
	return Figure{absent: reason}
}

// Get returns the value and whether there is one.
func (f Figure) Get() (float64, bool) { return f.value, f.present }

// Or returns the value, or other where there is none.
func (f Figure) Or(other float64) float64 {
	if f.present {
		return f.value
	}
	return other
}

// OK says whether the figure has a value.
func (f Figure) OK() bool { return f.present }

// N is the number of observations that the value rests on.
func (f Figure) N() int { return f.n }

// Reason says why the figure is absent, "" where it is not.
func (f Figure) Reason() string {
	if f.present {
		return ""
	}
	if f.absent == "" {
		return "not computed"
	}
	return f.absent
}

// Caveats are the reasons why the value may mislead.
func (f Figure) Caveats() []string { return f.caveats }

type figureJSON struct {
	Value   *float64 `json:"value,omitempty"`
	N       int      `json:"n,omitempty"`
	Absent  string   `json:"absent,omitempty"`
	Caveats []string `json:"caveats,omitempty"`
}

// MarshalJSON writes {"value":…,"n":…,"caveats":[…]} or {"absent":"reason"}.
func (f Figure) MarshalJSON() ([]byte, error) {
	if !f.present {
		return json.Marshal(figureJSON{Absent: f.Reason()})
	}
	v := f.value
	return json.Marshal(figureJSON{Value: &v, N: f.n, Caveats: f.caveats})
}

// UnmarshalJSON reads what MarshalJSON wrote.
func (f *Figure) UnmarshalJSON(b []byte) error {
	var j figureJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return fmt.Errorf("figure: %w", err)
	}
	if j.Value == nil {
		*f = Figure{absent: j.Absent}
		return nil
	}
	*f = Figure{value: *j.Value, n: j.N, present: true, caveats: j.Caveats}
	return nil
}
