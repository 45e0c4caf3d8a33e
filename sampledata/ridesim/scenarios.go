package ridesim

import "math"

// classSection is random road of ISO 8608 with Gd(n0) = gd in m³, ridden for seconds at constant speed in m/s.
func classSection(gd, speed, seconds float64) Section {
	return Section{Kind: "constant class", LengthM: speed * seconds, GdN0: gd, SpeedMS: speed}
}

// MixedCourse is a minute or more of mixed trail: smooth and rough by turns, n times 60 m of each, ridden from and to a stand.
func MixedCourse(n int) Course {
	c := Course{StartHoldS: 4, EndHoldS: 3, EnvelopeM: 0.16, SwayN: 20}
	for range n {
		c.Sections = append(c.Sections,
			Section{Kind: "smooth", LengthM: 60, GdN0: 800e-6, SpeedMS: 6.5},
			Section{Kind: "rough", LengthM: 60, GdN0: 5000e-6, SpeedMS: 6},
			Section{Kind: "rocks", LengthM: 60, GdN0: 12000e-6, SpeedMS: 5.5},
			Section{Kind: "smooth", LengthM: 60, GdN0: 800e-6, SpeedMS: 7},
		)
	}
	c.Sections = append(c.Sections, Section{Kind: "stop", LengthM: 60, GdN0: 400e-6})
	return c
}

// FreeDecay is a linear fork without friction that stands on level ground, is pushed down by offsetMM and let go at 0.5 s. The
// damper is chosen so that the sprung mode has the damping ratio zeta (0 < zeta < 1) exactly; its natural frequency is
// Modes().SprungHz of the returned fork. The tyre is made stiff (1 MN/m), so that the fork moves nearly alone.
func FreeDecay(zeta, offsetMM, seconds float64) Params {
	f := linearFork()
	lo, hi := 0.0, 4*math.Sqrt(f.Spring.RateNPerM(0)*f.SprungKg)
	for range 80 {
		mid := (lo + hi) / 2
		f.Damper = LinearDamper(mid)
		if f.Modes().SprungZeta < zeta {
			lo = mid
		} else {
			hi = mid
		}
	}
	load := offsetMM / 1000 * f.Spring.RateNPerM(0) / f.sin()
	return Params{Fork: f, Sensor: CleanSensor(1000), Course: Course{
		StartHoldS: seconds,
		Push:       []Push{{0, 0}, {0.4, load}, {0.5, load}, {0.5, 0}},
	}}
}

// linearFork has a linear spring of 10 N/mm that sags by about 20 %, no friction and a stiff tyre.
func linearFork() Fork {
	f := DefaultFork()
	f.Spring = LinearSpring{Rate: 10e3}
	f.FrictionN = 0
	f.Tyre = Tyre{Rate: 1e6, Damping: 500}
	return f
}

// TwoSettles is a sag log of the fork f: it stands, is pushed down and let up over releaseS, rests, is lifted and let down over
// releaseS, rests. Each rest lasts restS. The push and the lift are 3 times the friction or 150 N, whichever is more.
func TwoSettles(f Fork, sensor Sensor, releaseS, restS float64) Params {
	load := max(150, 3*f.FrictionN)
	at := 1.0
	push := []Push{{at, 0}}
	for _, sign := range []float64{1, -1} {
		push = append(push, Push{at + 1.5, sign * load}, Push{at + 2.5, sign * load}, Push{at + 2.5 + releaseS, 0},
			Push{at + 2.5 + releaseS + restS, 0})
		at += 2.5 + releaseS + restS
	}
	return Params{Fork: f, Sensor: sensor, Course: Course{StartHoldS: at, Push: push}}
}

// ConstantClass rides one roughness gd (m³, see ClassMean) at constant speed.
func ConstantClass(f Fork, sensor Sensor, gd, speedMS, seconds float64, seed uint64) Params {
	return Params{Seed: seed, Fork: f, Sensor: sensor, Course: Course{
		EnvelopeM: 0.16, StartSpeed: speedMS, Sections: []Section{classSection(gd, speedMS, seconds)},
	}}
}

// BumpTrain rides level ground with bumps of heightMM met at hz, at constant speed, from the third second on.
func BumpTrain(f Fork, sensor Sensor, hz, heightMM, speedMS, seconds float64) Params {
	length := speedMS / hz
	lead := 2 * speedMS
	return Params{Fork: f, Sensor: sensor, Course: Course{
		StartSpeed: speedMS,
		Sections: []Section{{
			Kind: "bump train", LengthM: speedMS*seconds + lead, SpeedMS: speedMS,
			Features: []Feature{{Kind: Bumps, AtM: lead, HeightM: heightMM / 1000, LengthM: length, Count: int(speedMS * seconds / length)}},
		}},
	}}
}

// SmoothGround rides level ground at constant speed: the fork does not move.
func SmoothGround(f Fork, sensor Sensor, speedMS, seconds float64) Params {
	return Params{Fork: f, Sensor: sensor, Course: Course{
		StartSpeed: speedMS, Sections: []Section{{Kind: "level", LengthM: speedMS * seconds, SpeedMS: speedMS}},
	}}
}
