package report

import (
	"encoding/json"
	"fmt"
	"math"

	"stanchion/analyze"
	"stanchion/analyze/trail"
)

// A Ground is where runs of one trail were ridden and what was met there. Pages draw it as a map.
type Ground struct {
	Line  *trail.Line
	Gates []trail.Gate // may be none
	// Reading is what the fork's logs tell about the trail; nil where the runs are tracks alone. Profile must be given then.
	Reading *trail.Reading
	Profile *trail.Profile // figures along the line; that of the Reading where nil
	Runs    []GroundRun
}

// A GroundRun is one run on the ground.
type GroundRun struct {
	Name   string
	Placed *trail.Placed
	ShiftS float64 // is added to the times of Placed, for the clock of the page: that of the log, or the time since the first gate
}

func (g *Ground) profile() *trail.Profile {
	if g.Profile == nil && g.Reading != nil {
		return &g.Reading.Profile
	}
	return g.Profile
}

// groundPoints bounds the points of the line, and of a run, on a page.
const groundPoints = 4000

// A mapView is the map of a page: what the template writes, and the data that its script draws.
type mapView struct {
	Figures []mapFigure // to choose from, the first is drawn first
	Legend  []legendEntry
	Words   string // how to read it
	Several bool   // runs
	data    mapData
}

// A mapData is what the script draws. Coordinates are m in the plane of the page: x to the right, y down, the trail's longest direction along x,
// the start on the left.
type mapData struct {
	X       []float64   `json:"x"`
	Y       []float64   `json:"y"`
	Ele     []float64   `json:"ele"`  // m, empty where not known
	StepM   float64     `json:"step"` // between points
	North   [2]float64  `json:"north"`
	Figures []mapFigure `json:"figures"`
	Marks   []mapMark   `json:"marks"` // by station
	Runs    []mapRun    `json:"runs"`
	Since   string      `json:"since"` // what times count from, "" = the log
}

// A mapFigure is one figure along the trail in five classes.
type mapFigure struct {
	Key      string     `json:"key"`
	Label    string     `json:"label"`
	Unit     string     `json:"unit"`
	Decimals int        `json:"decimals"`
	FromM    float64    `json:"from"`
	StepM    float64    `json:"step"`
	Values   []*float64 `json:"values"`
	Edges    []float64  `json:"edges"`   // between the classes, rising
	Classes  []string   `json:"classes"` // in words
}

// A mapMark is something at a place or over a stretch.
type mapMark struct {
	Kind  string  `json:"kind"` // "gate", "harsh", "jump", "bottom", "bottom-hard", "packing" or "braking"
	FromM float64 `json:"from"`
	ToM   float64 `json:"to"`
	Short string  `json:"short"` // on the map
	Text  string  `json:"text"`  // said where the cursor is on it
}

// A mapRun tells when a run was where. Pieces part where it was off the line or without reception.
type mapRun struct {
	Name   string     `json:"name"`
	Pieces []mapPiece `json:"pieces"`
}

type mapPiece struct {
	TimeS    []float64 `json:"t"`
	StationM []float64 `json:"m"`
	SpeedMS  []float64 `json:"v"`
}

// newMap prepares the map; nil where there is no line to draw.
func newMap(g *Ground) *mapView {
	if g == nil || g.Line == nil || len(g.Line.EastM) < 2 {
		return nil
	}
	v := &mapView{Figures: mapFigures(g), Several: len(g.Runs) > 1}
	x, y, north := orient(g.Line.EastM, g.Line.NorthM)
	k := max(1, (len(x)+groundPoints-1)/groundPoints)
	v.data = mapData{X: thin(x, k), Y: thin(y, k), Ele: thin(g.Line.EleM, k), StepM: g.Line.StepM * float64(k), North: north, Figures: v.Figures, Marks: mapMarks(g), Runs: []mapRun{}}
	for i := range v.data.Ele {
		if math.IsNaN(v.data.Ele[i]) || math.IsInf(v.data.Ele[i], 0) {
			v.data.Ele = []float64{}
			break
		}
	}
	for i := range g.Runs {
		v.data.Runs = append(v.data.Runs, newMapRun(&g.Runs[i]))
	}
	if v.Several {
		v.data.Since = "since the start"
		if len(g.Gates) > 0 {
			v.data.Since = "since " + g.Gates[0].Name
		}
	}
	v.Legend, v.Words = mapLegend(&v.data), mapWords(g)
	return v
}

// json is the data of the map, in which < is escaped.
func (v *mapView) json() ([]byte, error) {
	if err := checkFinite(&v.data); err != nil {
		return nil, err
	}
	b, err := json.Marshal(&v.data)
	if err != nil {
		return nil, fmt.Errorf("map: %w", err)
	}
	return b, nil
}

// thin keeps each k-th value to 0.1.
func thin(x []float64, k int) []float64 {
	out := make([]float64, 0, len(x)/k+1)
	for i := 0; i < len(x); i += k {
		out = append(out, tenth(x[i]))
	}
	return out
}

func tenth(v float64) float64 { return math.Round(v*10) / 10 }

// orient turns the plane so that the trail's longest direction lies along x and its start is on the left. A trail without a long direction
// keeps north on top. north is the direction of north on the page.
func orient(east, north []float64) (x, y []float64, up [2]float64) {
	n := float64(len(east))
	var me, mn float64
	for i := range east {
		me, mn = me+east[i]/n, mn+north[i]/n
	}
	var ee, nn, en float64
	for i := range east {
		e, q := east[i]-me, north[i]-mn
		ee, nn, en = ee+e*e, nn+q*q, en+e*q
	}
	angle := math.Atan2(2*en, ee-nn) / 2 // of the principal axis against east
	spread, half := (ee+nn)/2, math.Hypot((ee-nn)/2, en)
	if spread-half > 0.5*(spread+half) {
		angle = 0
	}
	sin, cos := math.Sincos(angle)
	last := len(east) - 1
	if angle != 0 && (east[last]-east[0])*cos+(north[last]-north[0])*sin < 0 {
		sin, cos = -sin, -cos
	}
	for i := range east {
		e, q := east[i]-me, north[i]-mn
		x, y = append(x, e*cos+q*sin), append(y, e*sin-q*cos)
	}
	return x, y, [2]float64{round(sin, 6), round(-cos, 6)}
}

// newMapRun thins the times of a run and parts them where it was not on the line.
func newMapRun(r *GroundRun) mapRun {
	out := mapRun{Name: r.Name, Pieces: []mapPiece{}}
	p := r.Placed
	if p == nil {
		return out
	}
	k := max(1, (len(p.TimeS)+groundPoints-1)/groundPoints)
	off := func(t float64) bool {
		for _, s := range p.OffLine {
			if t > s[0] && t < s[1] {
				return true
			}
		}
		return false
	}
	var piece mapPiece
	flush := func() {
		if len(piece.TimeS) > 1 {
			out.Pieces = append(out.Pieces, piece)
		}
		piece = mapPiece{}
	}
	for i := 0; i < len(p.TimeS); i += k {
		broken := i > 0 && off((p.TimeS[i]+p.TimeS[i-k])/2)
		if broken || off(p.TimeS[i]) {
			flush()
		}
		if v := p.SpeedMS[i]; !off(p.TimeS[i]) && !math.IsNaN(p.StationM[i]) && !math.IsNaN(v) {
			piece.TimeS = append(piece.TimeS, math.Round((p.TimeS[i]+r.ShiftS)*1000)/1000)
			piece.StationM = append(piece.StationM, math.Round(p.StationM[i]*100)/100)
			piece.SpeedMS = append(piece.SpeedMS, math.Round(v*100)/100)
		}
	}
	flush()
	return out
}

// mapFigures are the figures that the line can be coloured by, those that are known.
func mapFigures(g *Ground) []mapFigure {
	p, out := g.profile(), []mapFigure{}
	if p == nil {
		return out
	}
	for _, f := range []struct {
		key, label, unit string
		decimals         int
		values           []analyze.Figure
	}{
		{"rough", "Roughness", "mm/s RMS", 0, p.RMSMMS},
		{"normal", "Roughness at one speed", "mm/s RMS", 0, p.NormalMMS},
		{"speed", "Riding speed", "m/s", 1, p.SpeedMS},
		{"travel", "Mean travel", "% of travel", 0, p.TravelPct},
	} {
		m := mapFigure{Key: f.key, Label: f.label, Unit: f.unit, Decimals: f.decimals, FromM: round(p.FromM, 7), StepM: p.StepM}
		var known []float64
		for _, v := range f.values {
			var at *float64
			if x, ok := v.Get(); ok {
				x = round(x, 4)
				at, known = &x, append(known, x)
			}
			m.Values = append(m.Values, at)
		}
		if len(known) < 2 {
			continue
		}
		m.Edges, m.Classes = classes(known)
		out = append(out, m)
	}
	return out
}
