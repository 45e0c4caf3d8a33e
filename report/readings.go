package report

import "stanchion/analyze"

// A reading is the run as one kind of reader asks about it.
type reading struct {
	ID, Who, Asks string
	Blocks        []block
}

// A block is one answer: a chart, figures or tables under a heading.
type block struct {
	ID, Title string
	Read      string // how to read it
	Chart     *chart
	NoChart   string // why there is no chart although there could be one
	Figures   []figureRow
	Tables    []table // shown
	Behind    []table // the numbers behind the chart, folded away
	Wide      bool
}

// readings gives the three readings of the same run.
func readings(r *analyze.Result) ([]reading, error) {
	tuner, err := tunerReading(r)
	if err != nil {
		return nil, err
	}
	return []reading{racerReading(r), tuner, coachReading(r)}, nil
}

func racerReading(r *analyze.Result) reading {
	blocks := []block{
		{
			ID: "know", Title: "The few things to know",
			Figures: racerFigures(r), Wide: true,
		},
		{ID: "bottoms", Title: "Where the fork bottomed out", Tables: []table{bottomTable(r)}, Wide: true},
		{
			ID: "roughest", Title: "Where it was roughest", Tables: []table{roughestTable(r)}, Wide: true,
		},
		{
			ID: "jumps", Title: "Jumps and landings", Tables: []table{jumpTable(r)}, Wide: true,
			Read: "A travel sensor sees that the fork is extended, not that the wheel is off the ground. A fork with slow rebound can fly without showing here.",
		},
	}
	if len(r.Markers) > 0 {
		blocks = append(blocks, block{ID: "markers", Title: "Markers", Tables: []table{markerTable(r)}, Wide: true})
	}
	return reading{ID: "racer", Who: "Racer", Asks: "Where and when?", Blocks: blocks}
}

func racerFigures(r *analyze.Result) []figureRow {
	return []figureRow{
		{"Riding time", ridingTime(r), "recorded time without standing still"},
		{"Deepest travel", deepest(r), "of " + mm(r.Fork.TravelMM)},
		{"Bottom-outs", bottoms(r), "travel of " + percent(r.Options.BottomOpenPct) + " or more"},
		{"Likely jumps", show(r.Air.Jumps, whole), "fork extended (under " + percent(r.Options.ExtendedPct) + " of travel) for " + ms(r.Options.JumpMinS) + " or longer"},
		{"Fastest compression", show(r.Velocity.Compression.MaxMMS, mmps), ""},
		{"Fastest rebound", show(r.Velocity.Rebound.MaxMMS, mmps), ""},
		{"Distance that the fork moved", show(r.Velocity.TravelledM, metres), "in and out together"},
	}
}

func coachReading(r *analyze.Result) reading {
	return reading{ID: "coach", Who: "Coach", Asks: "Where was it harsh, and why?", Blocks: []block{
		{
			ID: "harsh", Title: "Harsh sections", Tables: []table{harshTable(r)}, Wide: true,
			Read: "Ranked by exposure, which grows with both the speed of the fork and the length of the section. Roughness is what the fork felt: it depends on the pace as well as on the ground.",
		},
		{
			ID: "packing", Title: "Where the fork stayed down", Tables: []table{packingTable(r)}, Wide: true,
			Figures: []figureRow{
				{"Packing runs", show(r.Packing.Count, whole), "several hits in a row without coming back"},
				{"Depth in rough ground", show(r.Packing.SinkInRoughPct, points), "of travel, against " + orElse(r.Packing.Reference, "static sag")},
			},
		},
		{
			ID: "dives", Title: "Braking and other deep times", Tables: []table{diveTable(r)}, Wide: true,
			Read: "The slow part of the travel, well below the median depth for half a second or more. Braking does this, and so does a dip or a berm.",
		},
		{
			ID: "landings", Title: "Landings", Tables: []table{landingTable(r)}, Wide: true,
			Read: "How fast and how deep the fork went after each extended spell, the fastest first.",
		},
		{ID: "topouts", Title: "Hard top-outs", Tables: []table{topTable(r)}, Wide: true,
			Read: "The fork reached full extension at speed: a knock that can be felt at the bar."},
	}}
}

func orElse(s, other string) string {
	if s == "" {
		return other
	}
	return s
}

// points is a signed difference in percent of travel.
func points(v float64) string {
	s := percent(v)
	if v > 0 {
		return "+" + s
	}
	return s
}
