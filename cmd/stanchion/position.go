package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"stanchion/analyze"
	"stanchion/analyze/trail"
	"stanchion/ingest"
	"stanchion/report"
)

// trackFlags say where the positions of logs are.
type trackFlags struct {
	gpx     []string
	offsetS float64

	given  *float64          // offsetS, nil where it was not given
	tracks map[string]string // of each log
}

func (f *trackFlags) add(cmd *cobra.Command) {
	fl := cmd.Flags()
	fl.StringSliceVar(&f.gpx, "gpx", nil, "`track` of the run (GPX or FIT); of several logs one each, in their order, with commas between them")
	fl.Float64Var(&f.offsetS, "clock-offset", 0, "`seconds` on the sensor's clock at the track's first point; overrules what is found")
}

// check sorts the tracks to their logs.
func (f *trackFlags) check(logs []string, changed func(string) bool) error {
	if changed("clock-offset") {
		if len(f.gpx) == 0 {
			return usagef("give the track with --gpx", "--clock-offset is of a track, and there is none")
		}
		if math.IsNaN(f.offsetS) || math.IsInf(f.offsetS, 0) {
			return usagef("", "--clock-offset %g: must be a number of seconds", f.offsetS)
		}
		f.given = &f.offsetS
	}
	if len(f.gpx) == 0 {
		return nil
	}
	if len(f.gpx) != len(logs) {
		return usagef("give one track for each log, in the order of the logs", "--gpx names %d tracks, but there are %d logs", len(f.gpx), len(logs))
	}
	f.tracks = map[string]string{}
	for i, log := range logs {
		f.tracks[log] = f.gpx[i]
	}
	return nil
}

// A located trace is where a log was ridden; all of it is empty where that is not known.
type located struct {
	position *analyze.Position
	path     *trail.Path
	offset   trail.Offset
	rows     ingest.RowCount // of the track
}

// position lays a run's track, or the positions in its log, over its trace.
func (p *pipeline) position(trace *ingest.Trace, log string) (*ingest.Trace, located, error) {
	var none located
	file := p.tracks.tracks[log]
	var track *ingest.Track
	if file != "" {
		p.progress.step("reading the track of", log)
		var err error
		if track, err = readTrack(file); err != nil {
			return nil, none, err
		}
	} else if own, ok := trail.FromChannels(trace); ok {
		track = &own
	} else {
		return trace, none, nil
	}
	path, err := trail.Smooth(track, trail.DefaultSmoothOptions())
	if err != nil && file != "" {
		return nil, none, fmt.Errorf("%s: %w", file, err)
	}
	if err != nil {
		return withCautions(trace, "the positions in the log were not used: "+err.Error()), none, nil
	}
	offset := trail.FindOffset(trace, track, path, trail.OffsetOptions{GivenS: p.tracks.given})
	trace = trail.Attach(trace, path, offset)
	cautions := slices.Concat(track.Cautions, path.Notes)
	if !offset.OffsetS.OK() {
		cautions = append(cautions, "the track was not used, because its clock could not be laid on the log's (--clock-offset states it): "+offset.OffsetS.Reason())
	}
	trace = withCautions(trace, cautions...)
	trace.Understood = slices.Concat(trace.Understood, track.Understood)
	return trace, located{trail.PositionOf(track, path, offset), path, offset, track.Rows}, nil
}

// withCautions is a copy of trace with more cautions.
func withCautions(trace *ingest.Trace, more ...string) *ingest.Trace {
	out := *trace
	out.Cautions = slices.Concat(trace.Cautions, more)
	return &out
}

// inspectTrack shows what a track holds.
func inspectTrack(file string) ([]byte, error) {
	track, err := readTrack(file)
	if err != nil {
		return nil, err
	}
	var b strings.Builder
	var position *analyze.Position
	why := ""
	path, err := trail.Smooth(track, trail.DefaultSmoothOptions())
	cautions := track.Cautions
	if err != nil {
		why = err.Error()
	} else {
		position = trail.PositionOf(track, path, trail.Offset{})
		cautions = slices.Concat(cautions, path.Notes)
	}
	for _, r := range track.Rows.First {
		cautions = append(cautions, fmt.Sprintf("%s:%d: %s", file, r.Line, r.Reason))
	}
	report.TrackText(&b, file, track.Understood, cautions, position, why)
	return []byte(b.String()), nil
}
