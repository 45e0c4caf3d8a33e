package ridesim

import (
	"math"
	"slices"
)

// Truth is what really happened, sampled at RateHz. All slices have the same length; sample i is at i/RateHz s.
type Truth struct {
	RateHz      float64
	Fork        Fork
	TravelMM    []float64 // along the stanchion, 0 = fully extended
	VelocityMMS []float64 // positive = compression
	TyreN       []float64 // wheel load; 0 = off the ground
	SpeedMS     []float64
	DistanceM   []float64

	Summary Summary
	section []int // index of the section at each sample, −1 while standing at the start
}

// Summary is the truth in a few figures.
type Summary struct {
	DurationS      float64      `json:"duration_s"`
	DistanceM      float64      `json:"distance_m"`
	TravelMM       float64      `json:"travel_mm"`        // usable travel of the fork
	StaticSagMM    float64      `json:"static_sag_mm"`    // force balance without friction
	FrictionBandMM float64      `json:"friction_band_mm"` // width in which friction can hold the fork at rest
	SprungHz       float64      `json:"sprung_hz"`        // undamped sprung mode, linearised at static sag
	WheelHz        float64      `json:"wheel_hz"`         // undamped wheel mode, linearised at static sag
	DampingRatio   float64      `json:"damping_ratio"`    // of the sprung mode, with the mean low-speed damper slope
	MaxTravelMM    float64      `json:"max_travel_mm"`
	MeanTravelMM   float64      `json:"mean_travel_mm"` // whole recording
	Flights        []Flight     `json:"flights"`        // wheel off the ground for MinFlightS or more
	BottomOuts     []BottomOut  `json:"bottom_outs"`
	Sections       []SectionRun `json:"sections,omitempty"`
	Gates          []GatePass   `json:"gates,omitempty"`    // see Passage.Gates
	Receiver       *Reception   `json:"receiver,omitempty"` // see Receiver.Reception
}

// A Flight is a time in which the front wheel is off the ground.
type Flight struct {
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
	StartM float64 `json:"start_m"` // distance along the trail at StartS
	EndM   float64 `json:"end_m"`
}

// BottomOut opens at 97 % of travel and closes under 92 %.
type BottomOut struct {
	StartS   float64 `json:"start_s"` // first sample at or over 97 %
	EndS     float64 `json:"end_s"`   // first sample under 92 % after it
	PeakMM   float64 `json:"peak_mm"`
	EntryMMS float64 `json:"entry_mm_s"` // velocity at StartS
	Over97S  float64 `json:"over_97_s"`  // samples at or over 97 %, as time
}

// A SectionRun is one section as it was ridden. Standing still before the first section is "stand".
type SectionRun struct {
	Kind   string  `json:"kind"`
	StartS float64 `json:"start_s"`
	EndS   float64 `json:"end_s"`
	StartM float64 `json:"start_m"`
	EndM   float64 `json:"end_m"`
}

// MinFlightS is the shortest time off the ground that is listed as a flight.
const MinFlightS = 0.05

func (t *Truth) add(r *rider) {
	x, v := r.system.travel(r.now)
	t.TravelMM = append(t.TravelMM, x*1000)
	t.VelocityMMS = append(t.VelocityMMS, v*1000)
	t.TyreN = append(t.TyreN, r.system.tyreForce(r.now, r.in))
	t.SpeedMS = append(t.SpeedMS, r.pace.v)
	t.DistanceM = append(t.DistanceM, r.pace.s)
	section := r.pace.section
	if len(r.course.Sections) == 0 || (r.pace.t < r.course.StartHoldS && r.course.StartSpeed == 0) {
		section = -1
	}
	t.section = append(t.section, section)
}

func (t *Truth) finish(c *Course) {
	n := len(t.TravelMM)
	m := t.Fork.Modes()
	s := Summary{
		DurationS: float64(n) / t.RateHz, DistanceM: t.DistanceM[n-1],
		TravelMM: t.Fork.TravelM * 1000, StaticSagMM: t.Fork.StaticSagM() * 1000, FrictionBandMM: t.Fork.FrictionBandM() * 1000,
		SprungHz: m.SprungHz, WheelHz: m.WheelHz, DampingRatio: m.SprungZeta,
		MaxTravelMM: t.TravelMM[0],
		Flights:     t.flights(), BottomOuts: t.bottomOuts(), Sections: t.sections(c),
	}
	for _, x := range t.TravelMM {
		s.MaxTravelMM = max(s.MaxTravelMM, x)
		s.MeanTravelMM += x / float64(n)
	}
	t.Summary = s
}

// flights lists the intervals of MinFlightS or more in which the tyre force is zero.
func (t *Truth) flights() []Flight {
	out := []Flight{}
	start := -1
	for i := 0; i <= len(t.TyreN); i++ {
		if i < len(t.TyreN) && t.TyreN[i] == 0 {
			if start < 0 {
				start = i
			}
			continue
		}
		if start >= 0 && float64(i-start)/t.RateHz >= MinFlightS {
			out = append(out, Flight{
				StartS: float64(start) / t.RateHz, EndS: float64(i) / t.RateHz,
				StartM: t.DistanceM[start], EndM: t.DistanceM[min(i, len(t.DistanceM)-1)],
			})
		}
		start = -1
	}
	return out
}

func (t *Truth) bottomOuts() []BottomOut {
	open, closed := 970*t.Fork.TravelM, 920*t.Fork.TravelM
	out := []BottomOut{}
	inside := false
	for i, x := range t.TravelMM {
		at := float64(i) / t.RateHz
		switch {
		case !inside && x >= open:
			inside = true
			out = append(out, BottomOut{StartS: at, EntryMMS: t.VelocityMMS[i]})
		case inside && x < closed:
			inside = false
			out[len(out)-1].EndS = at
		}
		if inside {
			b := &out[len(out)-1]
			b.PeakMM = max(b.PeakMM, x)
			b.EndS = float64(i+1) / t.RateHz
			if x >= open {
				b.Over97S += 1 / t.RateHz
			}
		}
	}
	return out
}

func (t *Truth) sections(c *Course) []SectionRun {
	var out []SectionRun
	for i, k := range t.section {
		at := float64(i) / t.RateHz
		if i == 0 || k != t.section[i-1] {
			kind := "stand"
			if k >= 0 {
				kind = c.Sections[k].Kind
			}
			out = append(out, SectionRun{Kind: kind, StartS: at, StartM: t.DistanceM[i]})
		}
		s := &out[len(out)-1]
		s.EndS, s.EndM = float64(i+1)/t.RateHz, t.DistanceM[i]
	}
	return out
}

// Rounded is the summary with times to 0.1 ms and all else to four decimals, for writing.
func (s Summary) Rounded() Summary {
	round := func(values ...*float64) {
		for _, v := range values {
			*v = math.Round(*v*1e4) / 1e4
		}
	}
	s.Flights, s.BottomOuts, s.Sections = slices.Clone(s.Flights), slices.Clone(s.BottomOuts), slices.Clone(s.Sections)
	s.Gates = slices.Clone(s.Gates)
	round(&s.DurationS, &s.DistanceM, &s.TravelMM, &s.StaticSagMM, &s.FrictionBandMM, &s.SprungHz, &s.WheelHz,
		&s.DampingRatio, &s.MaxTravelMM, &s.MeanTravelMM)
	for i := range s.Flights {
		f := &s.Flights[i]
		round(&f.StartS, &f.EndS, &f.StartM, &f.EndM)
	}
	for i := range s.BottomOuts {
		b := &s.BottomOuts[i]
		round(&b.StartS, &b.EndS, &b.PeakMM, &b.EntryMMS, &b.Over97S)
	}
	for i := range s.Sections {
		r := &s.Sections[i]
		round(&r.StartS, &r.EndS, &r.StartM, &r.EndM)
	}
	for i := range s.Gates {
		round(&s.Gates[i].StationM, &s.Gates[i].TimeS)
	}
	return s
}
