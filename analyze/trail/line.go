package trail

import (
	"errors"
	"fmt"
	"math"
	"strings"
)

// LineOptions steer the making of a reference line.
type LineOptions struct {
	Names    []string     `json:"-"`          // of the runs, for messages; "run 1" and so on where there are none
	StepM    float64      `json:"step_m"`     // between points of the line
	MinShare float64      `json:"min_share"`  // a run that follows less than this share of the line was ridden elsewhere
	Rounds   int          `json:"rounds"`     // of averaging
	TrimM    float64      `json:"trim_m"`     // a run whose end lies further than this from that of most runs is a part run, and does not shorten the line
	Place    PlaceOptions `json:"place"`      // how runs are laid on it
	MovingMS float64      `json:"moving_m_s"` // a line begins and ends where its runs ride faster
}

// DefaultLineOptions are those of the timing command. They have no source but trial on simulated runs.
func DefaultLineOptions() LineOptions {
	return LineOptions{StepM: 1, MinShare: 0.5, Rounds: 3, TrimM: 40, Place: DefaultPlaceOptions(), MovingMS: 1}
}

func (o *LineOptions) name(i int) string {
	if i < len(o.Names) && o.Names[i] != "" {
		return o.Names[i]
	}
	return fmt.Sprintf("run %d", i+1)
}

// A StrangersError lists runs that were not ridden on the trail of the others.
type StrangersError struct{ Runs []Stranger }

// A Stranger is a run of another trail.
type Stranger struct {
	Index  int // among the paths given
	Name   string
	Reason string
}

func (e *StrangersError) Error() string {
	var all []string
	for _, r := range e.Runs {
		all = append(all, r.Name+" "+r.Reason)
	}
	return strings.Join(all, "; ")
}

// NewLine makes the reference line of the trail that all paths were ridden on. It begins with the run that fits the others best, lays all runs on it, and
// moves each of its points to the robust mean of the runs there, a few times over. It is trimmed to the ground that the runs have in common,
// part runs left aside. With one path it is that path where it moved. Paths of another trail give a *StrangersError.
func NewLine(paths []*Path, opt LineOptions) (*Line, error) {
	if len(paths) == 0 {
		return nil, errors.New("reference line: no runs given")
	}
	local := make([]*Path, len(paths))
	alone := make([]*Line, len(paths))
	for i, p := range paths {
		local[i] = p.inFrame(paths[0].Frame)
		var err error
		if alone[i], err = lineOf(local[i], opt); err != nil {
			return nil, fmt.Errorf("reference line: %s: %w", opt.name(i), err)
		}
	}
	if len(paths) == 1 && allHaveSpeed(local) {
		return alone[0].settle(local, 0, opt)
	}
	if len(paths) == 1 {
		return alone[0], nil
	}
	middle, err := medoid(local, alone, opt)
	if err != nil {
		return nil, err
	}
	rough := opt
	rough.Place.rough = true
	line := alone[middle]
	for round := range max(1, opt.Rounds) {
		placed, err := placeAll(local, line, middle, rough)
		if err != nil {
			return nil, err
		}
		if round == 0 {
			line, placed = line.trim(placed, opt)
		}
		line = line.average(local, placed)
	}
	if !allHaveSpeed(local) {
		return line, nil // nothing knows the ground better than the positions do
	}
	placed, err := placeAll(local, line, middle, rough)
	if err != nil {
		return nil, err
	}
	return line.paced(local, placed).settle(local, middle, opt)
}

// placeAll lays all runs on a line and refuses those that follow too little of it. middle is the run that the line was begun with.
func placeAll(paths []*Path, line *Line, middle int, opt LineOptions) ([]*Placed, error) {
	placed := make([]*Placed, len(paths))
	var strangers StrangersError
	for i, p := range paths {
		q, share := line.follow(p, opt.Place)
		if placed[i] = q; share >= opt.MinShare {
			continue
		}
		strangers.Runs = append(strangers.Runs, Stranger{i, opt.name(i), strange(p, line, share, opt.name(middle), opt)})
	}
	if len(strangers.Runs) > 0 {
		return nil, &strangers
	}
	return placed, nil
}

// follow lays a run on the line and finds the share of the line that it follows; the run is nil where it follows none.
func (l *Line) follow(p *Path, opt PlaceOptions) (q *Placed, share float64) {
	q, err := l.Place(p, opt)
	if err != nil {
		return nil, 0
	}
	sum := 0.0
	for i := 1; i < len(q.TimeS); i++ {
		a, b := max(q.StationM[i-1], 0), min(q.StationM[i], l.LengthM())
		if b > a && !q.off(q.TimeS[i-1], q.TimeS[i]) {
			sum += b - a
		}
	}
	return q, sum / max(l.LengthM(), 1e-9)
}

// strange says why a run is none of the trail.
func strange(p *Path, line *Line, share float64, of string, opt LineOptions) string {
	nearest := math.Inf(1)
	for i := range p.EastM {
		for j := 0; j < len(line.EastM); j += 10 {
			nearest = min(nearest, math.Hypot(p.EastM[i]-line.EastM[j], p.NorthM[i]-line.NorthM[j]))
		}
	}
	switch _, back := line.backwards().follow(p, opt.Place); {
	case nearest >= 1000:
		return fmt.Sprintf("was ridden %.0f km away from %s", nearest/1000, of)
	case nearest > 100:
		return fmt.Sprintf("was ridden %.0f m away from %s", nearest, of)
	case back >= opt.MinShare:
		return fmt.Sprintf("was ridden the other way round from %s", of)
	case share == 0:
		return fmt.Sprintf("never follows the trail of %s within %.0f m", of, opt.Place.MaxCrossM)
	}
	return fmt.Sprintf("follows only %.0f %% of the trail of %s; %.0f %% are needed", 100*share, of, 100*opt.MinShare)
}

// backwards is the line from its end to its start.
func (l *Line) backwards() *Line {
	n := len(l.EastM)
	out := &Line{Frame: l.Frame, StepM: l.StepM, EastM: make([]float64, n), NorthM: make([]float64, n)}
	for i := range n {
		out.EastM[i], out.NorthM[i] = l.EastM[n-1-i], l.NorthM[n-1-i]
	}
	return out
}

// lineOf is the line of one run: its own path where it moves.
func lineOf(p *Path, opt LineOptions) (*Line, error) {
	first, last := -1, -1
	for i, v := range p.SpeedMS {
		if v >= opt.MovingMS {
			if first < 0 {
				first = i
			}
			last = i
		}
	}
	var e, n, ele, gone []float64
	hasEle, kept := false, first
	for i := first; first >= 0 && i <= last; i++ {
		if i > first && i < last && p.SpeedMS[i] < opt.MovingMS/2 {
			continue // standing: positions wander about one place
		}
		switch {
		case i == first:
			gone = append(gone, 0)
		case p.Piece[i] == p.Piece[kept]:
			gone = append(gone, gone[len(gone)-1]+p.AlongM[i]-p.AlongM[kept])
		default: // reception was lost
			gone = append(gone, gone[len(gone)-1]+math.Hypot(p.EastM[i]-p.EastM[kept], p.NorthM[i]-p.NorthM[kept]))
		}
		kept = i
		e, n, ele = append(e, p.EastM[i]), append(n, p.NorthM[i]), append(ele, p.EleM[i])
		hasEle = hasEle || !math.IsNaN(p.EleM[i])
	}
	l := &Line{Frame: p.Frame, StepM: opt.StepM, Runs: 1}
	l.EastM, l.NorthM = atSteps(gone, e, opt.StepM), atSteps(gone, n, opt.StepM)
	if l.LengthM() < leastLineM {
		return nil, fmt.Errorf("it moves over less than %d m", leastLineM)
	}
	l.SpreadM = make([]float64, len(l.EastM))
	if hasEle {
		l.EleM = atSteps(gone, bridged(ele), opt.StepM)
	}
	return l, nil
}

// leastLineM is the length of the shortest line.
const leastLineM = 30

// elevations finds the elevation of each point of a line that was resampled from a polyline.
func elevations(l *Line, e, n, ele []float64) []float64 {
	out := make([]float64, len(l.EastM))
	gone, i := 0.0, 1
	for j := range out {
		for s := float64(j) * l.StepM; i < len(e)-1; i++ {
			length := math.Hypot(e[i]-e[i-1], n[i]-n[i-1])
			if gone+length >= s {
				break
			}
			gone += length
		}
		f := 0.0
		if length := math.Hypot(e[i]-e[i-1], n[i]-n[i-1]); length > 0 {
			f = (float64(j)*l.StepM - gone) / length
		}
		out[j] = ele[i-1] + min(max(f, 0), 1)*(ele[i]-ele[i-1])
	}
	return bridged(out)
}
