package trail

import (
	"fmt"

	"stanchion/analyze"
	"stanchion/ingest"
)

// PositionOf sums up where the positions of a run come from, for its result.
func PositionOf(track *ingest.Track, path *Path, offset Offset) *analyze.Position {
	used := len(track.Fixes) - path.Outliers
	p := &analyze.Position{
		Source: track.Source, Fixes: used, Dropped: track.Rows.Bad + path.Outliers, RateHz: path.RateHz,
		NoiseM: analyze.Value(path.NoiseM, used), WanderM: analyze.Value(path.WanderM, used),
		ClockMethod: offset.Method, ClockOffsetS: offset.OffsetS, ClockSigmaS: offset.SigmaS, ClockConfidence: offset.Confidence, Notes: offset.Notes,
	}
	var doubts []string
	if k := len(path.Piece); k > 0 && path.Piece[k-1] > 0 {
		times := "once"
		if n := path.Piece[k-1]; n > 1 {
			times = fmt.Sprintf("%d times", n)
		}
		doubts = append(doubts, fmt.Sprintf("reception was lost %s, and what was ridden then is not in it", times))
	}
	p.LengthM = analyze.Value(path.AlongM[len(path.AlongM)-1], used, doubts...)
	return p
}
