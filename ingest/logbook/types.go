package logbook

import (
	"encoding/json"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"stanchion/ingest"
)

// A Setup is how the bike was set for a run. A value that is not known is nil.
type Setup struct {
	PressurePSI  *float64 `json:"pressure_psi,omitempty"` // of the fork's spring, gauge
	Spacers      *float64 `json:"spacers,omitempty"`
	TyreFrontPSI *float64 `json:"tyre_front_psi,omitempty"`
	TyreRearPSI  *float64 `json:"tyre_rear_psi,omitempty"`
	RiderKG      *float64 `json:"rider_kg,omitempty"` // with all that the rider wears
	TemperatureC *float64 `json:"temperature_c,omitempty"`
	// Clicks are positions of adjusters, from fully closed.
	Clicks map[string]float64 `json:"clicks,omitempty"`
	// Other is what else was noted, by name.
	Other map[string]string `json:"other,omitempty"`
}

// A number is one of the named values of a Setup.
type number struct {
	name     string
	at       func(*Setup) **float64
	min, max float64
}

// numbers lists the named values with the range in which one is believed.
func numbers() []number {
	return []number{
		{"pressure_psi", func(s *Setup) **float64 { return &s.PressurePSI }, 0, 500},
		{"spacers", func(s *Setup) **float64 { return &s.Spacers }, 0, 30},
		{"tyre_front_psi", func(s *Setup) **float64 { return &s.TyreFrontPSI }, 0, 100},
		{"tyre_rear_psi", func(s *Setup) **float64 { return &s.TyreRearPSI }, 0, 100},
		{"rider_kg", func(s *Setup) **float64 { return &s.RiderKG }, 10, 300},
		{"temperature_c", func(s *Setup) **float64 { return &s.TemperatureC }, -60, 70},
	}
}

// Names are the names of the values that a Setup knows by itself.
func Names() []string {
	var out []string
	for _, n := range numbers() {
		out = append(out, n.name)
	}
	return out
}

// Set sets one value by its name: one of the named values, "clicks.NAME" or any other name of a note. An empty text takes the
// value away. Errors say what is allowed.
func (s *Setup) Set(name, text string) error {
	name, text = strings.TrimSpace(name), strings.TrimSpace(text)
	if name == "" || len(name) > maxName || strings.ContainsAny(name, "\"\\\n\r=") {
		return fmt.Errorf("setting %q: a name has 1 to %d characters, without quotes and '='", name, maxName)
	}
	if len(text) > maxText {
		return fmt.Errorf("setting %s: longer than %d characters", name, maxText)
	}
	for _, n := range numbers() {
		if n.name == name {
			return n.set(s, text)
		}
	}
	if adjuster, ok := strings.CutPrefix(name, "clicks."); ok {
		return s.setClicks(adjuster, text)
	}
	if text == "" {
		delete(s.Other, name)
		return nil
	}
	if s.Other == nil {
		s.Other = map[string]string{}
	}
	s.Other[name] = text
	return nil
}

func (n number) set(s *Setup, text string) error {
	if text == "" {
		*n.at(s) = nil
		return nil
	}
	v, err := parseNumber(text)
	if err != nil || v < n.min || v > n.max {
		return fmt.Errorf("setting %s is %q, but must be a number from %g to %g", n.name, text, n.min, n.max)
	}
	*n.at(s) = &v
	return nil
}

func (s *Setup) setClicks(adjuster, text string) error {
	if adjuster == "" {
		return fmt.Errorf("setting clicks. needs the name of the adjuster: clicks.rebound")
	}
	if text == "" {
		delete(s.Clicks, adjuster)
		return nil
	}
	v, err := parseNumber(text)
	if err != nil || v < -100 || v > 1000 {
		return fmt.Errorf("clicks of %s are %q, but must be a number from -100 to 1000", adjuster, text)
	}
	if s.Clicks == nil {
		s.Clicks = map[string]float64{}
	}
	s.Clicks[adjuster] = v
	return nil
}

// Values lists everything that is set, by name, as text: "pressure_psi" → "82", "clicks.rebound" → "8".
func (s Setup) Values() map[string]string {
	out := maps.Clone(s.Other)
	if out == nil {
		out = map[string]string{}
	}
	for _, n := range numbers() {
		if v := *n.at(&s); v != nil {
			out[n.name] = plain(*v)
		}
	}
	for k, v := range s.Clicks {
		out["clicks."+k] = plain(v)
	}
	return out
}

// String is the setup in one line, in a fixed order.
func (s Setup) String() string {
	values := s.Values()
	var parts []string
	for _, k := range slices.Sorted(maps.Keys(values)) {
		parts = append(parts, strings.TrimPrefix(k, "clicks.")+" "+values[k])
	}
	return strings.Join(parts, ", ")
}

// Clone is a copy that shares nothing.
func (s Setup) Clone() Setup {
	for _, n := range numbers() {
		if v := *n.at(&s); v != nil {
			c := *v
			*n.at(&s) = &c
		}
	}
	s.Clicks, s.Other = maps.Clone(s.Clicks), maps.Clone(s.Other)
	return s
}

// canonical is the JSON of s, the same bytes for the same setup.
func (s Setup) canonical() (string, error) {
	if len(s.Clicks) == 0 {
		s.Clicks = nil
	}
	if len(s.Other) == 0 {
		s.Other = nil
	}
	b, err := json.Marshal(s)
	if err != nil {
		return "", fmt.Errorf("setup: %w", err)
	}
	return string(b), nil
}

// A Note is what somebody wrote about a run.
type Note struct {
	At   time.Time `json:"at"`
	Text string    `json:"text"`
}

// A Run is one filed run.
type Run struct {
	ID        int64     `json:"id"` // its number in this book
	Hash      string    `json:"hash"`
	File      string    `json:"file"` // name of the recording when it was filed
	Bytes     int64     `json:"bytes"`
	TrackHash string    `json:"track_hash,omitempty"`
	TrackFile string    `json:"track_file,omitempty"`
	Name      string    `json:"name"`
	Bike      string    `json:"bike,omitempty"`
	Fork      Fork      `json:"fork"`
	ForkFile  string    `json:"fork_file,omitempty"` // the fork file as it was
	Trail     string    `json:"trail,omitempty"`
	Session   string    `json:"session,omitempty"`
	RiddenAt  time.Time `json:"ridden_at"`
	AddedAt   time.Time `json:"added_at"`
	DurationS float64   `json:"duration_s"`
	RidingS   float64   `json:"riding_s"`
	Setup     Setup     `json:"setup"`
	Notes     []Note    `json:"notes,omitempty"`
	// SchemaVersion and Definitions say how the figures were computed.
	SchemaVersion int    `json:"schema_version"`
	Definitions   string `json:"definitions,omitempty"`
}

// A Fork is a fork of the book. Its name is its identity.
type Fork = ingest.Fork

// A Figure is one figure of a run, as stored. A figure that could not be computed has no Value and the reason in Absent.
type Figure struct {
	Key    string   `json:"key"`
	Value  *float64 `json:"value,omitempty"`
	N      int      `json:"n,omitempty"`
	Absent string   `json:"absent,omitempty"`
}

// Figures are all figures of a run and how they were computed.
type Figures struct {
	SchemaVersion int
	Definitions   string // names the thresholds and versions in a few characters
	DurationS     float64
	RidingS       float64
	List          []Figure
}

// Bounds of what people write.
const (
	maxName = 200
	maxText = 4000
)
