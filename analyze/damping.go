package analyze

// A Decay is one free decay.
type Decay struct {
	TimeS       float64 `json:"time_s"`
	AmplitudeMM float64 `json:"amplitude_mm"`
	Zeta        float64 `json:"zeta"`
	NaturalHz   float64 `json:"natural_hz"`
	R2          float64 `json:"r2"`
	NoOvershoot bool    `json:"no_overshoot"` // then Zeta, NaturalHz and R2 are 0 and mean nothing
}

// Damping is the damping ratio from free decays.
type Damping struct {
	Decays      []Decay `json:"decays"`
	Zeta        Figure  `json:"zeta"`     // median
	ZetaLow     Figure  `json:"zeta_low"` // bootstrap 95 % interval of the median
	ZetaHigh    Figure  `json:"zeta_high"`
	NaturalHz   Figure  `json:"natural_hz"`
	NoOvershoot Figure  `json:"no_overshoot"` // count of decays that never overshot
}

func (r *ride) damping(strokes []Stroke) Damping { return Damping{} }
