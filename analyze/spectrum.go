package analyze

import (
	"math"

	"stanchion/analyze/signal"
)

// A Band is the power of one frequency band [LowHz, HighHz).
type Band struct {
	Name        string  `json:"name"` // "chassis", "wheel", "chatter"
	LowHz       float64 `json:"low_hz"`
	HighHz      float64 `json:"high_hz"`
	TravelMM2   Figure  `json:"travel_power_mm2"`
	VelocityMM2 Figure  `json:"velocity_power_mm2_s2"`
	CentroidHz  Figure  `json:"centroid_hz"` // of the velocity PSD
	PeakHz      Figure  `json:"peak_hz"`     // of the velocity PSD, named only where it stands out
}

// Spectrum is the Welch PSD of unfiltered travel over the whole recording.
type Spectrum struct {
	StepHz      float64   `json:"step_hz"` // bin k is at k·StepHz
	TravelPSD   []float64 `json:"travel_psd_mm2_per_hz"`
	VelocityPSD []float64 `json:"velocity_psd_mm2_s2_per_hz"`
	Windows     Figure    `json:"windows"`
	Bands       []Band    `json:"bands"`
}

// bandNote goes with every band frequency.
const bandNote = "the bands are textbook ranges (sprung mass 1–3 Hz, wheel hop about 10–15 Hz), not measured for this fork"

// fewWindows is the number of Welch windows under which single bins scatter enough to look like peaks: the relative
// standard deviation of a bin is about 1/√windows (Welch, IEEE Trans. Audio Electroacoust. AU-15, 1967; from memory).
const fewWindows = 10

// spectrum estimates the PSD of unfiltered travel x by Welch's method and from it the velocity PSD, (2πf)² times it.
// The power of a band is the sum of the density over the bins lo ≤ f < hi times the bin width.
func (r *ride) spectrum() Spectrum {
	raw := make([][]float64, len(r.segs))
	for i := range r.segs {
		raw[i] = r.segs[i].raw
	}
	n := r.count(r.opt.PSDWindowS)
	psd := signal.Welch(raw, r.fs, n)
	if psd.Windows == 0 {
		none := Absent("no piece of %g s without a gap", r.opt.PSDWindowS)
		sp := Spectrum{TravelPSD: []float64{}, VelocityPSD: []float64{}, Windows: none}
		for _, b := range r.bands() {
			b.TravelMM2, b.VelocityMM2, b.CentroidHz, b.PeakHz = none, none, none, none
			sp.Bands = append(sp.Bands, b)
		}
		return sp
	}
	sp := Spectrum{StepHz: psd.StepHz, TravelPSD: psd.Density, VelocityPSD: []float64{}, Windows: Value(float64(psd.Windows), psd.Windows)}
	vel := make([]float64, len(psd.Density))
	for k, p := range psd.Density {
		w := 2 * math.Pi * float64(k) * psd.StepHz
		vel[k] = w * w * p
	}
	for _, b := range r.bands() {
		sp.Bands = append(sp.Bands, r.fillBand(b, psd, vel))
	}
	if r.noVelocity == "" {
		sp.VelocityPSD = vel
	}
	return sp
}

func (r *ride) bands() []Band {
	return []Band{
		{Name: "chassis", LowHz: r.opt.ChassisHz[0], HighHz: r.opt.ChassisHz[1]},
		{Name: "wheel", LowHz: r.opt.WheelHz[0], HighHz: r.opt.WheelHz[1]},
		{Name: "chatter", LowHz: r.opt.ChatterHz[0], HighHz: r.opt.ChatterHz[1]},
	}
}

// fillBand computes the figures of b from the travel PSD and the velocity PSD of the same bins.
func (r *ride) fillBand(b Band, psd signal.PSD, vel []float64) Band {
	if b.HighHz > r.fs/2 {
		none := Absent("the band ends at %g Hz: it needs a sample rate of at least %g Hz", b.HighHz, 2*b.HighHz)
		b.TravelMM2, b.VelocityMM2, b.CentroidHz, b.PeakHz = none, none, none, none
		return b
	}
	lo, hi := bins(psd.StepHz, b.LowHz, b.HighHz, len(vel))
	b.TravelMM2 = Value(power(psd.Density[lo:hi], psd.StepHz), psd.Windows)
	if r.noVelocity != "" {
		none := Absent("%s", r.noVelocity)
		b.VelocityMM2, b.CentroidHz, b.PeakHz = none, none, none
		return b
	}
	b.VelocityMM2 = Value(power(vel[lo:hi], psd.StepHz), psd.Windows)
	b.CentroidHz = Absent("no power in the band")
	if c, ok := centroid(vel, psd.StepHz, lo, hi); ok {
		b.CentroidHz = Value(c, psd.Windows, bandNote)
	}
	b.PeakHz = Absent("no peak stands %g× above the median of the band", r.opt.PeakRatio)
	if k, ok := r.standsOut(vel, lo, hi, psd.StepHz); ok {
		caveats := []string{bandNote}
		if psd.Windows < fewWindows {
			caveats = append(caveats, "only "+plural(psd.Windows, "window", "windows")+" averaged: the peak may be chance")
		}
		b.PeakHz = Value(float64(k)*psd.StepHz, psd.Windows, caveats...)
	}
	return b
}

// bins is the range [lo, hi) of the bins at k·step whose frequencies lie in [lowHz, highHz), cut to n bins.
func bins(step, lowHz, highHz float64, n int) (lo, hi int) {
	const slack = 1e-9 // of a bin, for edges that are whole bins but for rounding
	lo = min(int(math.Ceil(lowHz/step-slack)), n)
	hi = min(int(math.Ceil(highHz/step-slack)), n)
	return lo, max(lo, hi)
}

// power is the integral of a density over bins of width step.
func power(density []float64, step float64) float64 {
	sum := 0.0
	for _, d := range density {
		sum += d
	}
	return sum * step
}

// centroid is the power-weighted mean frequency of the bins [lo, hi). It is not ok where they hold no power.
func centroid(density []float64, step float64, lo, hi int) (hz float64, ok bool) {
	sum, weighted := 0.0, 0.0
	for k := lo; k < hi; k++ {
		sum += density[k]
		weighted += density[k] * float64(k) * step
	}
	if !(sum > 0) {
		return 0, false
	}
	return weighted / sum, true
}

// standsOut finds the largest bin of [lo, hi), step Hz wide. It is ok where that bin is at least PeakRatio times the median of the range and
// where the mean of it and its neighbours is so high that PeakContrast of it is not under the mean of the bins further off, up to PeakReachHz,
// on either side, outside the range too: a chance maximum on a falling spectrum, or the flank of what lies in another
// band, is no peak.
func (r *ride) standsOut(density []float64, lo, hi int, step float64) (k int, ok bool) {
	if hi <= lo {
		return 0, false
	}
	k = lo
	for i := lo; i < hi; i++ {
		if density[i] > density[k] {
			k = i
		}
	}
	n, reach := len(density), int(math.Round(r.opt.PeakReachHz/step))
	top := r.opt.PeakContrast * mean(density[max(0, k-1):min(n, k+2)])
	for _, side := range [...][]float64{density[max(0, k-reach):max(0, k-1)], density[min(n, k+2):min(n, k+reach+1)]} {
		if len(side) > 0 && mean(side) > top {
			return k, false
		}
	}
	return k, density[k] > 0 && density[k] >= r.opt.PeakRatio*medianOf(density[lo:hi])
}
