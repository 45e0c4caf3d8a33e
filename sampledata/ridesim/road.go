package ridesim

import (
	"fmt"
	"math"
	"math/rand/v2"
)

// refWavenumber is n0 of ISO 8608 in cycles/m.
const refWavenumber = 0.1

// A RoadClass is a roughness class of ISO 8608.
type RoadClass byte

// ClassMean is Gd(n0) in m³ at the geometric mean of class A to H: 16e-6 m³ times 4 per class (ISO 8608).
func ClassMean(c RoadClass) (float64, error) {
	if c < 'A' || c > 'H' {
		return 0, fmt.Errorf("road class %q: must be a letter from A to H", c)
	}
	return 16e-6 * math.Pow(4, float64(c-'A')), nil
}

// Profile synthesises a random road of ISO 8608 with waviness 2: heights in m at steps of dx m over a period of
// n·dx m. It is the sum over i = 1…k of A_i·cos(2π·i·s/L + φ_i), A_i = math.Sqrt(2·Gd(i/L)/L), Gd(n) = gd·(n0/n)², with φ_i uniform.
// k·/L stays under maxWavenumber (cycles/m) and under the Nyquist wavenumber 1/(2·dx), so that the mean square over a
// period is ΣA_i²/2 for any phases. Each cosine runs by rotation, renewed every 512 points against drift.
func Profile(gd, dx float64, n int, maxWavenumber float64, seed uint64) []float64 {
	out := make([]float64, n)
	if n == 0 || gd == 0 {
		return out
	}
	rng := rand.New(rand.NewPCG(seed, 0x726f6164))
	length := float64(n) * dx
	kmax := min(int(maxWavenumber*length+1e-9), (n-1)/2)
	const block = 512
	for i := 1; i <= kmax; i++ {
		wavenumber := float64(i) / length
		amp := refWavenumber / wavenumber * math.Sqrt(2*gd/length)
		phase := 2 * math.Pi * rng.Float64()
		turn := 2 * math.Pi * float64(i) / float64(n)
		rs, rc := math.Sincos(turn)
		for b := 0; b < n; b += block {
			s, c := math.Sincos(phase + turn*float64(b))
			s, c = amp*s, amp*c
			for j := b; j < min(b+block, n); j++ {
				out[j] += c
				s, c = s*rc+c*rs, c*rc-s*rs
			}
		}
	}
	return out
}

// envelope smooths heights as the wheel does: a moving average with raised-cosine weights of total width m. A tyre of a
// hand's length of contact on a wheel of 0.7 m does not follow waves much shorter than that. The gain at wavenumber n is
// sinc(n·w)/(1−(n·w)²): ½ at a wavelength of w. The end values are held beyond the ends.
func envelope(h []float64, dx, width float64) []float64 {
	half := int(math.Round(width / 2 / dx))
	if half < 1 || len(h) == 0 {
		return h
	}
	w := make([]float64, 2*half+1)
	sum := 0.0
	for i := range w {
		w[i] = 1 + math.Cos(math.Pi*float64(i-half)/float64(half))
		sum += w[i]
	}
	out := make([]float64, len(h))
	for i := range h {
		v := 0.0
		for j, wj := range w {
			v += wj * h[min(max(i+j-half, 0), len(h)-1)]
		}
		out[i] = v / sum
	}
	return out
}

// gridRoad is a road on a uniform grid, read by cubic Hermite interpolation with central slopes.
type gridRoad struct {
	dx float64
	h  []float64
}

// at is the height in m and slope (m/m) at distance s in m. Beyond the ends the road is level.
func (r gridRoad) at(s float64) (height, slope float64) {
	p := s / r.dx
	i := int(math.Floor(p))
	n := len(r.h)
	if n == 0 {
		return 0, 0
	}
	if i < 0 {
		return r.h[0], 0
	}
	if i >= n-1 {
		return r.h[n-1], 0
	}
	u := p - float64(i)
	a, b := r.h[i], r.h[i+1]
	da := (b - r.h[max(i-1, 0)]) / 2
	db := (r.h[min(i+2, n-1)] - a) / 2
	c2 := 3*(b-a) - 2*da - db
	c3 := da + db - 2*(b-a)
	return a + u*(da+u*(c2+u*c3)), (da + u*(2*c2+3*u*c3)) / r.dx
}
