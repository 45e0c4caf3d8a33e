package ridesim

import "math"

// A Spring is the fork's main spring along the stanchion.
type Spring interface {
	// ForceN is the force in N at travel x in m (positive pushes the fork apart).
	ForceN(x float64) float64
	// RateNPerM is dF/dx in N/m at travel x in m.
	RateNPerM(x float64) float64
}

// LinearSpring is F = PreloadN + Rate·x.
type LinearSpring struct {
	Rate     float64 // N/m
	PreloadN float64 // N at zero travel
}

// ForceN implements Spring.
func (s LinearSpring) ForceN(x float64) float64 { return s.PreloadN + s.Rate*x }

// RateNPerM implements Spring.
func (s LinearSpring) RateNPerM(float64) float64 { return s.Rate }

// AirSpring is a positive and a negative air chamber that change polytropically (p·Vⁿ constant):
//
//	F(x) = A⁺[(p⁺+pa)(V⁺/(V⁺−A⁺x))ⁿ − pa] − A⁻[(p⁻+pa)(V⁻/(V⁻+A⁻x))ⁿ − pa]
type AirSpring struct {
	AreaM2         float64 // A⁺, positive piston area
	VolumeM3       float64 // V⁺, positive volume at full extension
	PressurePa     float64 // p⁺, gauge pressure at full extension
	NegAreaM2      float64 // A⁻
	NegVolumeM3    float64 // V⁻ at full extension
	NegPressurePa  float64 // p⁻, gauge pressure at full extension
	Exponent       float64 // n: 1 = slow (isothermal), about 1.3 = riding
	AtmospherePa   float64 // pa
	MinVolumeShare float64 // the gas never goes under this share of its full-extension volume
}

// ForceN implements Spring.
func (s AirSpring) ForceN(x float64) float64 {
	pos := s.AreaM2 * ((s.PressurePa+s.AtmospherePa)*math.Pow(1/s.share(x), s.Exponent) - s.AtmospherePa)
	neg := s.NegAreaM2 * ((s.NegPressurePa+s.AtmospherePa)*math.Pow(1/s.negShare(x), s.Exponent) - s.AtmospherePa)
	return pos - neg
}

// RateNPerM implements Spring: the derivative of the formula above.
func (s AirSpring) RateNPerM(x float64) float64 {
	up, un := s.share(x), s.negShare(x)
	pos := s.AreaM2 * s.AreaM2 / s.VolumeM3 * (s.PressurePa + s.AtmospherePa) * s.Exponent * math.Pow(up, -s.Exponent-1)
	neg := s.NegAreaM2 * s.NegAreaM2 / s.NegVolumeM3 * (s.NegPressurePa + s.AtmospherePa) * s.Exponent * math.Pow(un, -s.Exponent-1)
	return pos + neg
}

// share is the positive gas volume over that at full extension.
func (s AirSpring) share(x float64) float64 {
	return max(1-s.AreaM2*x/s.VolumeM3, s.MinVolumeShare)
}

// negShare is the same for the negative chamber.
func (s AirSpring) negShare(x float64) float64 {
	return max(1+s.NegAreaM2*x/s.NegVolumeM3, s.MinVolumeShare)
}
