package compare

import "maps"

// A Kind is what an adjuster adjusts.
type Kind string

// The kinds.
const (
	LowSpeedCompression  Kind = "low-speed compression"
	HighSpeedCompression Kind = "high-speed compression"
	Rebound              Kind = "rebound"
	LowSpeedRebound      Kind = "low-speed rebound"
	HighSpeedRebound     Kind = "high-speed rebound"
	SpringPressure       Kind = "spring pressure"
	VolumeSpacers        Kind = "volume spacers"
)

// An Adjuster is what is turned in a sweep.
type Adjuster struct {
	Name string `json:"name"` // for people: "rebound"
	Kind Kind   `json:"kind"` // sets which figures it should move; empty: not known
	Unit string `json:"unit"` // of its positions: "click" where empty; "psi", "bar", "spacer", …
}

// Moves are the keys of the figures that an adjuster should move, and of those that it should leave alone. A figure in neither
// list may follow indirectly (a fork that rides deeper meets a stiffer spring) and is not judged for crosstalk.
type Moves struct {
	Should    []string `json:"should"`
	ShouldNot []string `json:"should_not"`
	// CrosstalkRatio is the relative change of a figure that should not move over that of those that should, worth a flag;
	// by the nearer end of the slope's interval it must be half of it, too.
	CrosstalkRatio float64 `json:"crosstalk_ratio"`
}

// DefaultMoves is the table of what each kind of adjuster should move. What it should move is common practice and our choice, no source;
// edit it at will. What it should leave alone is set on simulated dampers (testdata/crosstalk.md): most speeds of the other direction follow too,
// because a fork with less compression damping comes back from deeper, and one with faster rebound meets the next hit higher. Speeds at a given
// depth hardly do. A spring moves everything, so nothing is asked of it.
func DefaultMoves() map[Kind]Moves {
	const reboundAtDepth, compressionAtDepth = "velocity.at_depth.rebound_mean_mm_s", "velocity.at_depth.compression_q70_mm_s"
	const onRebound, onCompression = 0.35, 0.25 // the ground drives compression, so its damper tells less in its speed
	compression, rebound := []string{compressionAtDepth}, []string{reboundAtDepth}
	return map[Kind]Moves{
		LowSpeedCompression: {
			Should:    []string{"velocity.compression.median_mm_s", "velocity.compression.mean_mm_s", "velocity.low_speed_compression_share"},
			ShouldNot: rebound, CrosstalkRatio: onRebound,
		},
		HighSpeedCompression: {
			Should:    []string{"velocity.compression.q95_mm_s", "velocity.compression.q99_mm_s", "strokes.compression.q95_peak_mm_s"},
			ShouldNot: rebound, CrosstalkRatio: onRebound,
		},
		Rebound: {
			Should: []string{"velocity.rebound.mean_mm_s", "velocity.rebound.q95_mm_s", reboundAtDepth,
				"velocity.rebound_to_compression_ratio", "return.median_s"},
			ShouldNot: compression, CrosstalkRatio: onCompression,
		},
		LowSpeedRebound: {
			Should:    []string{"velocity.rebound.median_mm_s", "velocity.rebound.mean_mm_s", "velocity.low_speed_rebound_share", "return.median_s"},
			ShouldNot: compression, CrosstalkRatio: onCompression,
		},
		HighSpeedRebound: {
			Should:    []string{"velocity.rebound.q95_mm_s", "velocity.rebound.q99_mm_s", "strokes.rebound.q95_peak_mm_s"},
			ShouldNot: compression, CrosstalkRatio: onCompression,
		},
		SpringPressure: {
			Should:    []string{"sag.static_mm", "sag.dynamic_median_mm", "travel.q25_mm", "travel.q75_mm", "travel.q95_mm"},
			ShouldNot: []string{},
		},
		VolumeSpacers: {
			Should:    []string{"travel.q99_mm", "travel.max_mm", "travel.q95_mm"},
			ShouldNot: []string{},
		},
	}
}

// The roles of a figure in a sweep.
const (
	RoleShould    = "should move"
	RoleShouldNot = "should not move"
)

func (m Moves) role(key string) string {
	for _, k := range m.Should {
		if k == key {
			return RoleShould
		}
	}
	for _, k := range m.ShouldNot {
		if k == key {
			return RoleShouldNot
		}
	}
	return ""
}

// SweepOptions holds every threshold of a sweep.
type SweepOptions struct {
	Options
	Moves map[Kind]Moves `json:"moves"`
	// A click is dead where the response moves less than DeadPerQuarter of its span per quarter of the range, and the
	// upper bound of what it moves, by the run-to-run spread, is under DeadShare of what an even response would.
	DeadPerQuarter float64 `json:"dead_per_quarter"`
	DeadShare      float64 `json:"dead_share"`
}

// DefaultSweepOptions returns the defaults. The caller may change what is returned.
func DefaultSweepOptions() SweepOptions {
	return SweepOptions{
		Options: DefaultOptions(), Moves: DefaultMoves(), DeadPerQuarter: 0.10, DeadShare: 0.8,
	}
}

func (o SweepOptions) clone() SweepOptions {
	o.Options = o.Options.clone()
	o.Moves = maps.Clone(o.Moves)
	return o
}
