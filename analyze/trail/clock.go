package trail

import (
	"fmt"
	"math"
	"slices"
	"time"

	"stanchion/analyze"
	"stanchion/ingest"
)

// The methods of an Offset.
const (
	MethodStamps    = "stamps"     // both clocks say the time of day
	MethodMarkers   = "markers"    // moments that are known on both clocks
	MethodActivity  = "activity"   // the fork's dive and activity against the receiver's speed
	MethodGiven     = "given"      // by the user
	MethodSameClock = "same clock" // the positions stand in the log itself
)

// OffsetOptions say what is known about the clocks from elsewhere.
type OffsetOptions struct {
	GivenS  *float64     // the offset, overrules everything
	Markers [][2]float64 // moments known on both clocks: sensor time, receiver time, s
}

const (
	stampSigmaS  = 1.0       // how far two clocks that were set may be apart; common practice, no source
	stampSearchS = 20.0      // around the stamps' offset the activity is looked at
	zoneStepS    = 15 * 60.0 // time zones are whole quarters of an hour apart
	zoneMostS    = 14 * 3600 // and at most this far
	agreeS       = 3.0       // stamps and activity agree within this
	markerSigmaS = 0.3       // of one press of a button; common practice, no source
	sharedLeastS = 10.0      // log and track must share this much time
	surelyFits   = 0.6       // fit at which the activity is believed against the stamps
)

// FindOffset finds what turns the receiver's time into the sensor's. In order of preference: the user's word, one clock for both, markers,
// the activity of the fork around what the stamps say, the stamps alone, the activity alone. Stamps and activity are checked against each other.
// Where nothing can be found, OffsetS is absent with the reason.
func FindOffset(trace *ingest.Trace, track *ingest.Track, path *Path, opt OffsetOptions) Offset {
	switch {
	case opt.GivenS != nil:
		return Offset{Method: MethodGiven, OffsetS: analyze.Value(*opt.GivenS, 1), SigmaS: analyze.Absent("given by the user"), Confidence: 1}
	case track.OnLogClock:
		return Offset{Method: MethodSameClock, OffsetS: analyze.Value(0, 1), SigmaS: analyze.Value(0, 1), Confidence: 1}
	case len(opt.Markers) > 0:
		return fromMarkers(opt.Markers)
	}
	search := newSearch(trace, path)
	if trace.Start.IsZero() || track.Start.IsZero() {
		return fromActivity(search)
	}
	return fromStamps(search, trace.Start, track.Start)
}

// fromMarkers is the median of the differences.
func fromMarkers(pairs [][2]float64) Offset {
	d := make([]float64, len(pairs))
	for i, p := range pairs {
		d[i] = p[0] - p[1]
	}
	slices.Sort(d)
	n := len(d)
	median := (d[(n-1)/2] + d[n/2]) / 2
	spread := 0.0
	for _, v := range d {
		spread += (v - median) * (v - median)
	}
	sigma := max(markerSigmaS, math.Sqrt(spread/float64(max(1, n-1)))) / math.Sqrt(float64(n))
	o := Offset{Method: MethodMarkers, OffsetS: analyze.Value(median, n), SigmaS: analyze.Value(sigma, n), Confidence: 1}
	if d[n-1]-d[0] > 2 {
		o.Confidence = 0.5
		o.Notes = append(o.Notes, fmt.Sprintf("the markers' differences are between %.1f and %.1f s: are they of the same moments?", d[0], d[n-1]))
	}
	return o
}

// fromActivity is the best match anywhere.
func fromActivity(s *search) Offset {
	m, why := s.anywhere()
	if why != "" {
		return Offset{Method: MethodActivity, OffsetS: analyze.Absent("%s", why), SigmaS: analyze.Absent("%s", why), Confidence: m.confidence}
	}
	return m.offset()
}

// fromStamps starts from what the clocks say of each other, which may be off by a time zone.
func fromStamps(s *search, sensor, receiver time.Time) Offset {
	stamps := receiver.Sub(sensor).Seconds()
	var notes []string
	say := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	with := func(o Offset) Offset {
		o.Notes = append(notes, o.Notes...)
		return o
	}
	if s.shared(stamps) < sharedLeastS {
		say("by the stamps the track starts %s, and the two share no time", apart(stamps))
		if m, zone, ok := s.otherZone(stamps); ok {
			say("the activity fits with the clocks %+g h apart: they are set to different time zones", zone/3600)
			return with(m.offset())
		}
		if m, why := s.anywhere(); why == "" && m.fit() >= surelyFits {
			say("the fork's activity fits the track all the same: one of the clocks was not set, and the activity was used")
			return with(m.offset())
		}
		reason := fmt.Sprintf("by the stamps the track starts %s: is it the track of another ride?", apart(stamps))
		return with(Offset{Method: MethodStamps, OffsetS: analyze.Absent("%s", reason), SigmaS: analyze.Absent("%s", reason)})
	}
	m, why := s.within(stamps-stampSearchS, stamps+stampSearchS)
	if why == "" {
		if d := m.offsetS - stamps; math.Abs(d) > agreeS {
			say("the stamps and the fork's activity disagree by %.1f s: the activity was used", d)
		} else {
			say("the stamps agree with the fork's activity to %.1f s", math.Abs(d))
		}
		return with(m.offset())
	}
	say("the fork's activity could not confirm the stamps: %s", why)
	return with(Offset{Method: MethodStamps, OffsetS: analyze.Value(stamps, 1, "from the stamps of two clocks, not confirmed"), SigmaS: analyze.Value(stampSigmaS, 1, "assumed"), Confidence: 0.5})
}

// apart says how much later the receiver began.
func apart(s float64) string {
	d := time.Duration(math.Abs(s) * 1e9).Round(time.Second)
	text := d.String()
	if d > 48*time.Hour {
		text = fmt.Sprintf("%.0f days", d.Hours()/24)
	}
	if s < 0 {
		return text + " before the log"
	}
	return text + " after the log"
}

// otherZone is the best match at offsets that differ from the stamps by whole quarters of an hour, as time zones do.
func (s *search) otherZone(stamps float64) (best match, zone float64, ok bool) {
	for k := -zoneMostS / zoneStepS; k <= zoneMostS/zoneStepS; k++ {
		at := stamps + k*zoneStepS
		if s.shared(at) < sharedLeastS {
			continue
		}
		if m, why := s.within(at-stampSearchS, at+stampSearchS); why == "" && (!ok || m.fit() > best.fit()) {
			best, zone, ok = m, k*zoneStepS, true
		}
	}
	return best, zone, ok
}

// shared is how many s of log and track lie over each other at an offset.
func (s *search) shared(offsetS float64) float64 {
	if s.path == nil || len(s.path.TimeS) == 0 {
		return 0
	}
	from := max(s.sensorFrom, s.path.TimeS[0]+offsetS)
	to := min(s.sensorTo, s.path.TimeS[len(s.path.TimeS)-1]+offsetS)
	return to - from
}
