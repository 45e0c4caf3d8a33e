package spring

import (
	"encoding/json"
	"fmt"
)

// A Pressure is a gauge pressure in Pa.
type Pressure float64

// Units of pressure in Pa. The pound-force per square inch follows from the pound (0.45359237 kg), the inch (25.4 mm) and
// standard gravity (9.80665 m/s²), all exact.
const (
	paPerPSI = 0.45359237 * StandardGravity / (0.0254 * 0.0254)
	paPerBar = 1e5
)

// PSI is a pressure of v pounds per square inch.
func PSI(v float64) Pressure { return Pressure(v * paPerPSI) }

// Bar is a pressure of v bar.
func Bar(v float64) Pressure { return Pressure(v * paPerBar) }

// PSI is the pressure in pounds per square inch.
func (p Pressure) PSI() float64 { return float64(p) / paPerPSI }

// Bar is the pressure in bar.
func (p Pressure) Bar() float64 { return float64(p) / paPerBar }

// String writes the pressure in both units that pumps show.
func (p Pressure) String() string { return fmt.Sprintf("%.1f psi (%.2f bar)", p.PSI(), p.Bar()) }

type pressureJSON struct {
	PSI float64 `json:"psi"`
	Bar float64 `json:"bar"`
}

// MarshalJSON writes {"psi":…,"bar":…}.
func (p Pressure) MarshalJSON() ([]byte, error) { return json.Marshal(pressureJSON{p.PSI(), p.Bar()}) }

// UnmarshalJSON reads what MarshalJSON wrote; bar counts.
func (p *Pressure) UnmarshalJSON(b []byte) error {
	var j pressureJSON
	if err := json.Unmarshal(b, &j); err != nil {
		return fmt.Errorf("pressure: %w", err)
	}
	*p = Bar(j.Bar)
	return nil
}

// Kelvin is the absolute temperature of c degrees Celsius.
func Kelvin(c float64) float64 { return c + 273.15 }

// MM is v mm in m.
func MM(v float64) float64 { return v / 1e3 }

// CM2 is v cm² in m².
func CM2(v float64) float64 { return v / 1e4 }

// CM3 is v cm³ in m³.
func CM3(v float64) float64 { return v / 1e6 }

// NPerMM is v N/mm in N/m.
func NPerMM(v float64) float64 { return v * 1e3 }

// Share is v percent as a share of 1.
func Share(v float64) float64 { return v / 100 }

// ShareOf is the share that part is of whole.
func ShareOf(part, whole float64) float64 { return part / whole }
